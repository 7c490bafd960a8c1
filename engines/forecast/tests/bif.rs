//! Files in the interchange format, well written and badly.

use forecast::bif::{BifError, MOST_BYTES, MOST_NAME, read};
use forecast::network::{MOST_PROBABILITIES, MOST_STATES, Network, NetworkError};
use proptest::prelude::*;

const ASIA: &str = include_str!("../../../reference/forecast/asia.bif");
const CHILD: &str = include_str!("../../../reference/forecast/child.bif");
const DOG: &str = include_str!("../../../reference/forecast/dog.bif");

/// One parent with three states.
const SILL: &str = "network sill { }
variable wet { type discrete [ 3 ] { dry, damp, soaked }; }
variable rust { type discrete [ 2 ] { no, yes }; }
probability ( wet ) { table 0.5, 0.25, 0.25; }
probability ( rust | wet ) {
  (dry) 0.9, 0.1;
  (damp) 0.5, 0.5;
  (soaked) 0.25, 0.75;
}
";

fn states(network: &Network, name: &str) -> Vec<String> {
    network.variables()[network.find(name).expect("a variable")].states.clone()
}

/// Line, column, what was found and what would be right.
fn wrong(text: &str) -> (usize, usize, String, String) {
    match read(text) {
        Err(BifError::Wrong { line, column, found, wanted }) => (line, column, found, wanted),
        other => panic!("{other:?}"),
    }
}

fn changed(from: &str, to: &str) -> String {
    assert!(SILL.contains(from), "{from}");
    SILL.replacen(from, to, 1)
}

#[test]
fn a_file_is_read_in_its_own_order() {
    let network = read(SILL).unwrap();
    assert_eq!(states(&network, "wet"), ["dry", "damp", "soaked"]);
    assert_eq!(network.tables()[0].rows, [0.5, 0.25, 0.25]);
    assert_eq!(
        (network.tables()[1].parents.as_slice(), network.tables()[1].rows.as_slice()),
        ([0].as_slice(), [0.9, 0.1, 0.5, 0.5, 0.25, 0.75].as_slice())
    );
    // Parents in the file's order, the last fastest: either waits for lung and tub.
    let asia = read(ASIA).unwrap();
    let either = asia.find("either").unwrap();
    let names: Vec<&str> = asia.tables()[either].parents.iter().map(|p| asia.variables()[*p].name.as_str()).collect();
    assert_eq!(names, ["lung", "tub"]);
    assert_eq!(asia.tables()[either].rows, [1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 1.0]);
}

#[test]
fn names_may_be_odd_or_in_quotes() {
    let child = read(CHILD).unwrap();
    assert_eq!(states(&child, "CO2Report"), ["<7.5", ">=7.5"]);
    assert_eq!(states(&child, "LowerBodyO2"), ["<5", "5-12", "12+"]);
    assert!(states(&child, "XrayReport").contains(&"Asy/Patchy".to_owned()));
    let quoted = SILL.replace("damp", "\" a (little) | wet; \"").replace("rust", "\"Rost überall\"");
    let network = read(&quoted).unwrap();
    assert_eq!(states(&network, "wet")[1], "a (little) | wet;");
    assert_eq!(network.find("Rost überall"), Some(1));
    // Keywords are names where names stand.
    assert!(read(&SILL.replace("damp", "table").replace("wet", "network").replace("rust", "default")).is_ok());
}

#[test]
fn what_is_beside_the_point_is_passed_over() {
    let plain = read(SILL).unwrap();
    let noisy = SILL
        .replace(
            "network sill { }",
            "\u{feff}/* a { ( \" */ network \"the sill\" { property \"a ; b\" ; property c = 1; }",
        )
        .replace("(damp)", "// (damp) 0.1, 0.9;\n property x \"}\" y; ( damp )")
        .replace("; }", "; /**/ property of it; } // end\r\n")
        .replace(", ", " ");
    assert_eq!(read(&noisy).unwrap(), plain);
    let reversed: Vec<&str> = [7, 6, 5].iter().map(|line| SILL.lines().nth(*line).unwrap()).collect();
    let shuffled = format!(
        "probability ( rust wet ) {{\n{}\n}}\nvariable rust{}\nprobability ( wet ) {{ table 0.5, 0.25, 0.25; }}\n{}\nnetwork n{{}}",
        reversed.join("\n"),
        " { type discrete[2]{no,yes}; }",
        SILL.lines().nth(1).unwrap()
    );
    let shuffled = read(&shuffled).unwrap();
    assert_eq!((shuffled.find("rust"), shuffled.find("wet")), (Some(0), Some(1)));
    assert_eq!(shuffled.tables()[0].rows, plain.tables()[1].rows);
}

#[test]
fn a_default_stands_for_rows_not_given() {
    let text = changed("(dry) 0.9, 0.1;\n  (damp) 0.5, 0.5;", "default 0.8, 0.2;");
    assert_eq!(read(&text).unwrap().tables()[1].rows, [0.8, 0.2, 0.8, 0.2, 0.25, 0.75]);
    let before = changed("(soaked) 0.25, 0.75;", "default 0.8, 0.2;");
    assert_eq!(read(&before).unwrap().tables()[1].rows[4..], [0.8, 0.2]);
    // A variable without parents has the one row ().
    let bare = changed("table 0.5, 0.25, 0.25;", "() 0.5, 0.25, 0.25;");
    assert_eq!(read(&bare).unwrap(), read(SILL).unwrap());
}

#[test]
fn in_a_table_the_own_states_run_slowest() {
    let all = "table 0.9 0.5 0.25 0.1 0.5 0.75;";
    let rows = SILL.find("(dry)").unwrap()..SILL.rfind("\n}").unwrap();
    let text = format!("{}{all}{}", &SILL[..rows.start], &SILL[rows.end..]);
    assert_eq!(read(&text).unwrap(), read(SILL).unwrap());
    let dog = read(DOG).unwrap();
    let out = dog.find("dog-out").unwrap();
    assert_eq!(dog.tables()[out].rows, [0.99, 0.01, 0.97, 0.03, 0.9, 0.1, 0.3, 0.7]);
}

#[test]
fn what_is_wrong_is_said_with_its_place() {
    let told = |from: &str, to: &str| {
        let (line, column, found, wanted) = wrong(&changed(from, to));
        format!("{line}:{column} {found} / {wanted}")
    };
    let cases = [
        ("network sill", "netwerk sill", "1:1 \"netwerk\" / \"network\", \"variable\" or \"probability\""),
        ("network sill { }\n", "", "9:1 the end of the file / a network block before it"),
        ("{ }\n", "{ }\nnetwork b { }", "2:1 a second network block / one of them"),
        ("{ }\n", "{ type }\n", "1:16 \"type\" / \"property\" or \"}\""),
        ("sill {", "sill (", "1:14 \"(\" / the network's name and \"{\""),
        ("variable rust", "variable wet", "3:10 \"wet\" / a name that no other variable has"),
        ("variable rust {", "variable {", "3:10 \"{\" / the variable's name"),
        ("variable rust {", "variable \"\" {", "3:10 \"\" / the variable's name"),
        (
            "type discrete [ 2 ] { no, yes }; ",
            "",
            "3:17 the end of a variable without a type / \"type discrete [ n ] { states };\"",
        ),
        ("yes }; }", "yes }; type }", "3:50 a second type / one of them"),
        ("discrete [ 2", "continuous [ 2", "3:22 \"continuous\" / \"discrete\", the only type that is read"),
        ("[ 2 ]", "[ two ]", "3:33 \"two\" / a whole number from 1 to 1000"),
        ("[ 2 ]", "[ 0 ]", "3:33 \"0\" / a whole number from 1 to 1000"),
        ("[ 2 ]", "[ 1001 ]", "3:33 \"1001\" / a whole number from 1 to 1000"),
        ("[ 2 ]", "[ 3 ]", "3:47 \"}\" after 2 states / the 3 announced"),
        ("[ 2 ]", "[ 1 ]", "3:43 \"yes\" / \"}\" after the 1 states announced"),
        ("no, yes", "no, no", "3:43 \"no\" / a name that no other state of the variable has"),
        ("( rust | wet )", "( rust | damp )", "5:22 \"damp\" / the name of a variable that has a variable block"),
        ("( rust | wet )", "( rust | rust )", "5:22 \"rust\" / each parent once, and not the variable itself"),
        ("( rust | wet )", "( rust | wet, wet )", "5:27 \"wet\" / each parent once, and not the variable itself"),
        ("( rust | wet )", "( wet )", "5:15 a second table for \"wet\" / one of them"),
        (
            "probability ( wet ) { table 0.5, 0.25, 0.25; }\n",
            "",
            "2:10 \"wet\" without a probability block / one block for it",
        ),
        ("(damp)", "(moist)", "7:4 \"moist\" / a state of \"wet\""),
        ("(damp)", "(damp, dry)", "7:10 \"dry\" / \")\" after the states of 1 parents"),
        ("(damp)", "()", "7:4 \")\" after the states of 0 parents / a state of each of 1 parents"),
        ("(damp)", "(dry)", "7:3 a row that has been given before / each row once"),
        ("  (damp) 0.5, 0.5;\n", "", "8:1 no row for \"damp\" / every row or a default"),
        ("table 0.5, 0.25, 0.25;", "", "4:24 no row for the variable / every row or a default"),
        ("(damp) 0.5, 0.5", "(damp) 0.5, 0.4", "7:3 a row that sums to 0.9 / a sum of 1"),
        ("(damp) 0.5, 0.5", "default 0.5, 0.4", "7:3 a row that sums to 0.9 / a sum of 1"),
        ("table 0.5, 0.25", "table 0.5, 0.5", "4:23 a row that sums to 1.25 / a sum of 1"),
        ("(damp) 0.5, 0.5;", "(damp) 0.5;", "7:13 1 probabilities / 2 of them"),
        ("(damp) 0.5, 0.5;", "(damp) 0.5, 0.5, 0;", "7:20 \"0\" / \";\" after 2 probabilities"),
        ("(damp) 0.5", "(damp) 1.5", "7:10 \"1.5\" / a probability from 0 to 1"),
        ("(damp) 0.5", "(damp) NaN", "7:10 \"NaN\" / a probability from 0 to 1"),
        ("(damp) 0.5", "(damp) -0.5", "7:10 \"-0.5\" / a probability from 0 to 1"),
        ("(damp) 0.5", "(damp) half", "7:10 \"half\" / a probability from 0 to 1"),
        ("(damp) 0.5", "(damp) (0.5)", "7:10 \"(\" / a probability or \";\""),
        (
            "(damp)",
            "table 1, 1, 1, 0, 0, 0; (damp)",
            "7:3 a table after rows or another table / one or the other, once",
        ),
        ("(soaked)", "default 1, 0; default 1, 0; (soaked)", "8:17 a second default row / one of them"),
        ("(soaked)", "row (soaked)", "8:3 \"row\" / \"(\", \"table\", \"default\", \"property\" or \"}\""),
        ("0.75;\n}\n", "0.75;\n", "9:1 the end of the file / \"}\" after the block"),
        ("soaked };", "soaked }; property x", "2:70 \"}\" / \";\" after the property, or quotes around it"),
        ("damp", "\"damp", "2:43 a quote that is not closed on its line / a second quote"),
        ("damp", "/*damp", "2:43 a comment that is not closed / \"*/\" after it"),
        ("damp", "\u{1}damp", "2:43 a control character / a name, a number or a mark"),
    ];
    for (from, to, expect) in cases {
        assert_eq!(told(from, to), expect, "{from} -> {to}");
    }
    assert_eq!(
        read(&changed("(damp)", "(moist)")).unwrap_err().to_string(),
        "line 7, column 4: found \"moist\"; right would be a state of \"wet\""
    );
    // Columns count characters, and a long name is cut.
    let long = format!("network {} {{ }} ü {}", "é".repeat(9), "x".repeat(100));
    assert_eq!(wrong(&long).1, 23);
    let long = wrong(&format!("network a {{ }} {}", "ü".repeat(100)));
    assert_eq!((long.1, long.2), (15, format!("\"{}...\"", "ü".repeat(40))));
}

#[test]
fn a_circle_is_named() {
    let text = SILL.replace("( wet ) { table 0.5, 0.25, 0.25; }", "( wet | rust ) { default 0.5, 0.25, 0.25; }");
    let names = vec!["wet".to_owned(), "rust".to_owned()];
    assert_eq!(read(&text), Err(BifError::Network(NetworkError::Cycle { names })));
}

#[test]
fn limits_are_kept_without_asking_for_memory() {
    let long = format!("{SILL}//{}", "x".repeat(MOST_BYTES - SILL.len() - 2));
    assert!(read(&long).is_ok());
    assert_eq!(read(&(long + "x")), Err(BifError::TooLong { bytes: MOST_BYTES + 1, most: MOST_BYTES }));

    let name = "x".repeat(MOST_NAME);
    assert!(read(&SILL.replace("rust", &name)).is_ok());
    assert_eq!(wrong(&SILL.replace("rust", &(name + "x"))).3, format!("a name of {MOST_NAME} bytes at most"));

    let parents: Vec<String> = (0..40).map(|n| format!("p{n}")).collect();
    let variable = |name: &str| format!("variable {name} {{ type discrete [ 2 ] {{ a, b }}; }}\n");
    let declared: String = parents.iter().map(|name| variable(name)).chain([variable("x")]).collect();
    let text = format!("network n {{ }}\n{declared}probability ( x | {} ) {{ default 1, 0; }}", parents.join(", "));
    let (line, _, found, wanted) = wrong(&text);
    assert_eq!((line, found.as_str()), (43, "a table of 2199023255552 probabilities"));
    assert!(wanted.starts_with(&format!("{MOST_PROBABILITIES} at most")), "{wanted}");
    // Together, not one by one: 21 parents are 4 194 304 rows' worth in two tables.
    let two = format!(
        "network n {{ }}\n{declared}{}probability ( p0 | {} ) {{ default 1, 0; }} probability ( x | {} ) {{ default 1, 0; }}",
        "",
        parents[1..21].join(" "),
        parents[1..21].join(" ")
    );
    assert!(wrong(&two).3.starts_with("1902848 at most"), "{:?}", wrong(&two));

    let many: String = (0..5_001).map(|n| variable(&format!("v{n}"))).collect();
    assert_eq!(wrong(&format!("network n {{ }}\n{many}")).2, "one more variable");
    let blocks = "probability ( v ) { }\n".repeat(5_001);
    assert_eq!(wrong(&format!("network n {{ }}\n{blocks}")).2, "one more probability block");
    let many: String = (0..70).map(|n| format!("variable v{n} {{ type discrete [ 1 ] {{ a }}; }}\n")).collect();
    let names: Vec<String> = (1..66).map(|n| format!("v{n}")).collect();
    let text = format!("network n {{ }}\n{many}probability ( v0 | {} ) {{ default 1; }}", names.join(" "));
    assert_eq!(wrong(&text).2, "one more parent");
    assert_eq!(MOST_STATES, 1_000);
}

/// As the usual libraries write it.
fn written(network: &Network) -> String {
    let mut text = "network unknown {\n}\n".to_owned();
    for variable in network.variables() {
        let (name, states) = (&variable.name, variable.states.join(", "));
        text += &format!("variable {name} {{\n  type discrete [ {} ] {{ {states} }};\n}}\n", variable.states.len());
    }
    for (variable, table) in network.variables().iter().zip(network.tables()) {
        let parents: Vec<_> = table.parents.iter().map(|parent| &network.variables()[*parent]).collect();
        let names: Vec<&str> = parents.iter().map(|parent| parent.name.as_str()).collect();
        let given = if names.is_empty() { String::new() } else { format!("| {} ", names.join(", ")) };
        text += &format!("probability ( {} {given}) {{\n", variable.name);
        for (row, probabilities) in table.rows.chunks(variable.states.len()).enumerate() {
            let (mut left, mut states) = (row, Vec::new());
            for parent in parents.iter().rev() {
                states.push(parent.states[left % parent.states.len()].as_str());
                left /= parent.states.len();
            }
            states.reverse();
            let numbers: Vec<String> = probabilities.iter().map(f64::to_string).collect();
            let head = if states.is_empty() { "table".to_owned() } else { format!("({})", states.join(", ")) };
            text += &format!("  {head} {};\n", numbers.join(", "));
        }
        text += "}\n";
    }
    text
}

#[test]
fn invariant_what_is_written_is_read_again() {
    for text in [ASIA, CHILD, DOG, include_str!("../../../reference/forecast/alarm.bif"), SILL] {
        let network = read(text).unwrap();
        let again = read(&written(&network)).unwrap();
        assert_eq!(again.variables(), network.variables());
        for (one, other) in again.tables().iter().zip(network.tables()) {
            assert_eq!(one.parents, other.parents);
            assert_eq!(one.rows, other.rows);
        }
    }
}

/// Pieces that files are made of.
fn pieces() -> impl Strategy<Value = String> {
    let known = ["network", "variable", "probability", "type", "discrete", "table", "default", "property"];
    let marks =
        ["{", "}", "(", ")", "[", "]", ",", ";", "|", "\"", "//", "/*", "*/", "\n", "0.5", "1", "2", "a", "b", "ü"];
    let pieces: Vec<&str> = known.into_iter().chain(marks).collect();
    proptest::collection::vec(proptest::sample::select(pieces), 0..80).prop_map(|some| some.join(" "))
}

proptest! {
    #[test]
    fn invariant_any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn invariant_any_pieces_are_read_or_refused(text in pieces()) {
        let _ = read(&text);
        let _ = read(&format!("{SILL}{text}"));
    }

    /// A good file with bytes written over, cut out or doubled is read, or refused at a place within it.
    #[test]
    fn invariant_damaged_files_are_read_or_refused(
        which in 0_usize..3, hits in proptest::collection::vec((any::<proptest::sample::Index>(), 0_u8..3, any::<u8>()), 1..8),
    ) {
        let mut bytes = [SILL, DOG, CHILD][which].as_bytes().to_vec();
        for (at, how, byte) in hits {
            let at = at.index(bytes.len());
            match how {
                0 => bytes[at] = byte % 128,
                1 => drop(bytes.drain(at..(at + usize::from(byte)).min(bytes.len() - 1).max(at))),
                _ => {
                    let again: Vec<u8> = bytes[at..].iter().take(usize::from(byte)).copied().collect();
                    bytes.splice(at..at, again);
                }
            }
        }
        let text = String::from_utf8_lossy(&bytes);
        if let Err(BifError::Wrong { line, column, found, wanted }) = read(&text) {
            prop_assert!(line >= 1 && line <= text.matches('\n').count() + 1);
            prop_assert!(column >= 1 && column <= text.lines().nth(line - 1).map_or(0, |line| line.chars().count()) + 1);
            prop_assert!(!found.is_empty() && !wanted.is_empty() && found.chars().count() < 100);
        }
    }
}
