//! The network's answers, against pgmpy (`reference/forecast`), against joints worked out in full, and against draws.

use base::stream::Stream;
use forecast::bif;
use forecast::network::{Evidence, MOST_ENTRIES, MOST_VARIABLES, Network, NetworkError, Table, Tree, Variable};
use proptest::prelude::*;

fn rows(text: &str) -> Vec<Vec<String>> {
    let rows: Vec<Vec<String>> = csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect();
    assert!(!rows.is_empty());
    rows
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

fn network(name: &str) -> Network {
    let text = match name {
        "asia" => include_str!("../../../reference/forecast/asia.bif"),
        "cancer" => include_str!("../../../reference/forecast/cancer.bif"),
        "alarm" => include_str!("../../../reference/forecast/alarm.bif"),
        "child" => include_str!("../../../reference/forecast/child.bif"),
        "dog" => include_str!("../../../reference/forecast/dog.bif"),
        other => panic!("{other} is not here"),
    };
    bif::read(text).expect("a network")
}

fn compiled(network: &Network) -> Tree {
    Tree::compile(network, MOST_ENTRIES).expect("a tree")
}

/// The places of a variable and its state.
fn place(network: &Network, variable: &str, state: &str) -> (usize, usize) {
    let at = network.find(variable).expect("a variable");
    (at, network.variables()[at].states.iter().position(|own| own == state).expect("a state"))
}

/// `variable=state` with spaces between; a state's name may hold a further `=`.
fn known(network: &Network, text: &str) -> Evidence {
    let mut evidence = Evidence::none(network);
    for finding in text.split_whitespace() {
        let (variable, state) = finding.split_once('=').expect("variable=state");
        let (at, state) = place(network, variable, state);
        evidence.is(at, state).expect("a state");
    }
    evidence
}

#[test]
fn oracle_marginals_and_evidence_agree_with_pgmpy() {
    let rows = rows(include_str!("../../../reference/forecast/marginals.csv"));
    for case in rows.chunk_by(|one, other| one[..2] == other[..2]) {
        let network = network(&case[0][0]);
        let tree = compiled(&network);
        let evidence = known(&network, &case[0][1]);
        let mut work = tree.work();
        let posterior = tree.update(&evidence, &mut work).expect("possible evidence");
        let p_evidence = number(&case[0][5]);
        assert!((posterior.evidence() - p_evidence).abs() < 1e-9, "{:?}", case[0]);
        assert!((posterior.ln_evidence() - base::math::ln(p_evidence)).abs() < 1e-9, "{:?}", case[0]);
        for row in case {
            let (variable, state) = place(&network, &row[2], &row[3]);
            let got = posterior.marginal(variable)[state];
            assert!((got - number(&row[4])).abs() < 1e-9, "{row:?}: {got}");
        }
        // All states of all that is not evidence are there.
        let others = network.variables().len() - case[0][1].split_whitespace().count();
        let mut told: Vec<&str> = case.iter().map(|row| row[2].as_str()).collect();
        told.dedup();
        assert_eq!(told.len(), others);
    }
}

/// Lauritzen and Spiegelhalter 1988: the figures that follow by hand from the tables printed there, such as
/// 0.01 * 0.05 + 0.99 * 0.01 for tuberculosis.
#[test]
fn published_asia_before_any_finding() {
    let network = network("asia");
    let tree = compiled(&network);
    let mut work = tree.work();
    let evidence = Evidence::none(&network);
    let posterior = tree.update(&evidence, &mut work).unwrap();
    for (name, expect) in [("tub", 0.0104), ("lung", 0.055), ("either", 0.064_828), ("bronc", 0.45)] {
        let (variable, yes) = place(&network, name, "yes");
        assert!((posterior.marginal(variable)[yes] - expect).abs() < 1e-12, "{name}");
    }
    assert!(posterior.ln_evidence().abs() < 1e-12);
}

/// What the better of two decisions is worth.
fn worth(row: &[String], bad: f64) -> f64 {
    let of = |sound: usize| (1.0 - bad) * number(&row[sound]) + bad * number(&row[sound + 1]);
    of(1).max(of(3))
}

#[test]
fn oracle_value_of_information_agrees_with_pgmpy() {
    let network = network("asia");
    let tree = compiled(&network);
    let mut work = tree.work();
    let (lung, yes) = place(&network, "lung", "yes");
    for row in rows(include_str!("../../../reference/forecast/value_of_information.csv")) {
        let evidence = known(&network, &row[0]);
        let asked = network.find(&row[8]).unwrap();
        let posterior = tree.update(&evidence, &mut work).unwrap();
        let (bad, answers) = (posterior.marginal(lung)[yes], posterior.marginal(asked).to_vec());
        let now = worth(&row, bad);
        let evpi = (1.0 - bad) * worth(&row, 0.0) + bad * worth(&row, 1.0) - now;
        let mut then = 0.0;
        for (state, chance) in answers.iter().enumerate() {
            let mut told = evidence.clone();
            told.is(asked, state).unwrap();
            then += chance * worth(&row, tree.update(&told, &mut work).unwrap().marginal(lung)[yes]);
        }
        for (got, cell) in [bad, now, evpi].iter().zip(&row[5..8]).chain([(&(then - now), &row[9])]) {
            assert!((got - number(cell)).abs() < 1e-9, "{row:?}: {got}");
        }
        assert!(then - now > -1e-9 && then - now < evpi + 1e-9);
    }
}

/// All joint probabilities, added up one by one: for each state of each variable, and all together.
fn brute(network: &Network, likelihoods: &[Vec<f64>]) -> (Vec<Vec<f64>>, f64) {
    let variables = network.variables();
    let mut sums: Vec<Vec<f64>> = variables.iter().map(|variable| vec![0.0; variable.states.len()]).collect();
    let mut states = vec![0; variables.len()];
    let mut all = 0.0;
    loop {
        let mut joint = 1.0;
        for (own, table) in network.tables().iter().enumerate() {
            let row = table.parents.iter().fold(0, |row, p| row * variables[*p].states.len() + states[*p]);
            joint *= table.rows[row * variables[own].states.len() + states[own]] * likelihoods[own][states[own]];
        }
        all += joint;
        for (sums, state) in sums.iter_mut().zip(&states) {
            sums[*state] += joint;
        }
        // Counts on like the figures of a mileometer.
        let mut at = 0;
        while at < states.len() && states[at] + 1 == variables[at].states.len() {
            states[at] = 0;
            at += 1;
        }
        if at == states.len() {
            return (sums, all);
        }
        states[at] += 1;
    }
}

/// A network drawn from a seed: up to eight variables of two to four states, in every other network of one too, arrows from any to any later one in an
/// order that is not that of their places, some rows with zeros; and for some variables a likelihood or a state.
fn random(seed: u64) -> (Network, Vec<Vec<f64>>) {
    let mut stream = Stream::new(seed, 0);
    let mut below = |n: usize| (stream.uniform() * n as f64) as usize;
    let count = 1 + below(8);
    let least = 1 + below(2);
    let states: Vec<usize> = (0..count).map(|_| least + below(5 - least)).collect();
    let mut order: Vec<usize> = (0..count).collect();
    for at in (1..count).rev() {
        order.swap(at, below(at + 1));
    }
    let mut tables = vec![Table { parents: vec![], rows: vec![] }; count];
    for (at, own) in order.iter().enumerate() {
        let mut parents: Vec<usize> = order[..at].iter().copied().filter(|_| below(5) < 2).collect();
        parents.truncate(4);
        if parents.len() > 1 && below(2) == 0 {
            parents.reverse();
        }
        let sizes: usize = parents.iter().map(|parent| states[*parent]).product();
        let mut rows = Vec::new();
        for _ in 0..sizes {
            let mut row: Vec<f64> = (0..states[*own]).map(|_| 1.0 + below(1_000) as f64).collect();
            if row.len() > 1 && below(6) == 0 {
                row[below(states[*own])] = 0.0;
            }
            let sum: f64 = row.iter().sum();
            rows.extend(row.iter().map(|p| p / sum));
        }
        tables[*own] = Table { parents, rows };
    }
    let mut likelihoods: Vec<Vec<f64>> = states.iter().map(|n| vec![1.0; *n]).collect();
    for own in &mut likelihoods {
        match below(4) {
            0 => {
                let is = below(own.len());
                own.iter_mut().enumerate().for_each(|(state, weight)| *weight = if state == is { 1.0 } else { 0.0 });
            }
            1 => own.iter_mut().for_each(|weight| *weight = below(100) as f64 / 50.0),
            _ => {}
        }
    }
    let name = |n: usize, of: &str| format!("{of} {n}");
    let variables = states
        .iter()
        .enumerate()
        .map(|(at, n)| Variable { name: name(at, "v"), states: (0..*n).map(|state| name(state, "s")).collect() })
        .collect();
    (Network::new(variables, tables).expect("a network"), likelihoods)
}

fn evidence(network: &Network, likelihoods: &[Vec<f64>]) -> Evidence {
    let mut evidence = Evidence::none(network);
    for (variable, likelihood) in likelihoods.iter().enumerate() {
        if likelihood.iter().any(|weight| *weight != 1.0) {
            evidence.likely(variable, likelihood).expect("a likelihood");
        }
    }
    evidence
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn invariant_answers_are_those_of_the_whole_joint(seed in any::<u64>()) {
        let (network, likelihoods) = random(seed);
        let tree = compiled(&network);
        let evidence = evidence(&network, &likelihoods);
        let (sums, all) = brute(&network, &likelihoods);
        let mut work = tree.work();
        match tree.update(&evidence, &mut work) {
            Err(error) => prop_assert!(error == NetworkError::Impossible && all == 0.0, "{} {:?}", all, error),
            Ok(posterior) => {
                prop_assert!((posterior.evidence() / all - 1.0).abs() < 1e-9, "{} {}", posterior.evidence(), all);
                for (variable, sums) in sums.iter().enumerate() {
                    for (got, sum) in posterior.marginal(variable).iter().zip(sums) {
                        prop_assert!((got - sum / all).abs() < 1e-9, "{}: {} {}", variable, got, sum / all);
                    }
                }
            }
        }
        // What was known before leaves no trace in the next answer.
        let nothing = Evidence::none(&network);
        let (sums, _) = brute(&network, &vec![vec![1.0; 4]; network.variables().len()]);
        let posterior = tree.update(&nothing, &mut work).unwrap();
        prop_assert!(posterior.ln_evidence().abs() < 1e-9);
        for (variable, sums) in sums.iter().enumerate() {
            prop_assert!(posterior.marginal(variable).iter().zip(sums).all(|(got, sum)| (got - sum).abs() < 1e-9));
        }
    }
}

/// Draws of the whole network against its exact marginals, and two variables together against their exact joint.
fn draws_agree(network: &Network, evidence: &Evidence, pair: (usize, usize), seed: u64) {
    const DRAWS: usize = 40_000;
    let tree = compiled(network);
    let (mut work, mut other_work) = (tree.work(), tree.work());
    let posterior = tree.update(evidence, &mut work).expect("possible evidence");
    let mut counts: Vec<Vec<usize>> = network.variables().iter().map(|v| vec![0; v.states.len()]).collect();
    let mut both = vec![vec![0_usize; counts[pair.1].len()]; counts[pair.0].len()];
    let mut stream = Stream::new(seed, 0);
    let mut states = vec![0; counts.len()];
    let sampler = posterior.sampler();
    for _ in 0..DRAWS {
        sampler.draw(&mut stream, &mut states);
        for (counts, state) in counts.iter_mut().zip(&states) {
            counts[usize::from(*state)] += 1;
        }
        both[usize::from(states[pair.0])][usize::from(states[pair.1])] += 1;
    }
    let near = |count: usize, p: f64| {
        let share = count as f64 / DRAWS as f64;
        // A probability that is 0 but for rounding must not be drawn at all.
        let error = if p < 1e-12 { 0.0 } else { (p * (1.0 - p) / DRAWS as f64).max(0.0).sqrt() };
        (share - p).abs() <= 4.0 * error + 1e-12
    };
    for (variable, counts) in counts.iter().enumerate() {
        for (count, p) in counts.iter().zip(posterior.marginal(variable)) {
            assert!(near(*count, *p), "{variable}: {count} of {DRAWS}, {p}");
        }
    }
    for (state, counts) in both.iter().enumerate() {
        let first = posterior.marginal(pair.0)[state];
        let mut told = evidence.clone();
        told.is(pair.0, state).expect("a state");
        match tree.update(&told, &mut other_work) {
            Err(_) => assert_eq!(counts.iter().sum::<usize>(), 0),
            Ok(then) => {
                for (count, p) in counts.iter().zip(then.marginal(pair.1)) {
                    assert!(near(*count, first * p), "{pair:?}: {count} of {DRAWS}, {}", first * p);
                }
            }
        }
    }
}

#[test]
fn invariant_draws_follow_the_exact_marginals() {
    let asia = network("asia");
    let pair = (asia.find("asia").unwrap(), asia.find("dysp").unwrap());
    draws_agree(&asia, &known(&asia, ""), pair, 1);
    let pair = (asia.find("smoke").unwrap(), asia.find("tub").unwrap());
    draws_agree(&asia, &known(&asia, "xray=yes dysp=yes"), pair, 2);
    let alarm = network("alarm");
    let pair = (alarm.find("HISTORY").unwrap(), alarm.find("CATECHOL").unwrap());
    draws_agree(&alarm, &known(&alarm, "BP=LOW HRBP=HIGH CVP=LOW"), pair, 3);
}

#[test]
fn impossible_evidence_is_reported_and_the_room_still_serves() {
    let network = network("asia");
    let tree = compiled(&network);
    let mut work = tree.work();
    let impossible = known(&network, "tub=yes either=no");
    assert_eq!(tree.update(&impossible, &mut work).err(), Some(NetworkError::Impossible));
    // One variable in two states.
    let both = known(&network, "xray=yes xray=no");
    assert_eq!(tree.update(&both, &mut work).err(), Some(NetworkError::Impossible));
    let (xray, yes) = place(&network, "xray", "yes");
    let none = Evidence::none(&network);
    assert!((tree.update(&none, &mut work).unwrap().marginal(xray)[yes] - 0.110_290_04).abs() < 1e-9);
}

/// A row that a file has rounded: the variable it belongs to says nothing of others until somebody looks at it.
#[test]
fn rows_that_were_rounded_move_nothing_but_their_own_variable() {
    let rows = |low: f64| vec![low, low, low, 0.5, 0.25, 0.25];
    let made = |low: f64| {
        let states = ["a", "b", "c"].map(str::to_owned).to_vec();
        let variables = vec![binary("above".into()), Variable { name: "below".into(), states }];
        let above = Table { parents: vec![], rows: vec![0.3, 0.7] };
        Network::new(variables, vec![above, Table { parents: vec![0], rows: rows(low) }]).unwrap()
    };
    let (rough, exact) = (compiled(&made(0.333)), compiled(&made(1.0 / 3.0)));
    let (network, mut one, mut other) = (made(0.333), rough.work(), exact.work());
    for text in ["", "above=yes", "below=b"] {
        let evidence = known(&network, text);
        let (rough, exact) = (rough.update(&evidence, &mut one).unwrap(), exact.update(&evidence, &mut other).unwrap());
        assert!((rough.evidence() - exact.evidence()).abs() < 1e-15, "{text}");
        for (got, wanted) in rough.marginal(0).iter().zip(exact.marginal(0)) {
            assert!((got - wanted).abs() < 1e-15, "{text}");
        }
    }
    // Its own marginal is that of the rows as they stand: 0.3 * 0.333 + 0.7 * 0.5 of a sum of 0.9997.
    let none = Evidence::none(&network);
    let got = rough.update(&none, &mut one).unwrap().marginal(1)[0];
    assert!((got - 0.4499 / 0.9997).abs() < 1e-15, "{got}");
}

fn binary(name: String) -> Variable {
    Variable { name, states: vec!["no".into(), "yes".into()] }
}

/// Each waits for the one above and the one to the left.
fn grid(side: usize) -> Network {
    let variables = (0..side * side).map(|at| binary(format!("v{at}"))).collect();
    let table = |at: usize| {
        let (above, left) = (at.checked_sub(side), (!at.is_multiple_of(side)).then(|| at - 1));
        let parents: Vec<usize> = above.into_iter().chain(left).collect();
        let rows = (0..1 << parents.len()).flat_map(|row| [0.7 - 0.1 * f64::from(row), 0.3 + 0.1 * f64::from(row)]);
        Table { rows: rows.collect(), parents }
    };
    Network::new(variables, (0..side * side).map(table).collect()).expect("a grid")
}

#[test]
fn too_tightly_woven_is_said_with_the_width() {
    let wide = grid(30);
    match Tree::compile(&wide, MOST_ENTRIES) {
        Err(NetworkError::TooWide { width, entries, most }) => {
            assert!((10..200).contains(&width) && entries > most && most == MOST_ENTRIES, "{width} {entries}");
            let told = NetworkError::TooWide { width, entries, most }.to_string();
            assert!(told.contains(&format!("its width is at least {width}")), "{told}");
        }
        other => panic!("{:?}", other.map(|tree| tree.width())),
    }
    // A grid of ten is wide, but fits; its width can be no less than its side.
    let tree = compiled(&grid(10));
    assert!((10..16).contains(&tree.width()), "{}", tree.width());
    assert!((tree.entries() as u64) <= MOST_ENTRIES);
    let less = Tree::compile(&grid(10), tree.entries() as u64 - 1);
    assert!(matches!(less.err(), Some(NetworkError::TooWide { .. })));
}

fn lone(name: String) -> Variable {
    Variable { name, states: vec!["so".into()] }
}

/// As many variables as there may be, each waiting for the 64 before it, and all but every fiftieth of one state: the
/// others are a chain, and nothing else is joined.
#[test]
fn what_can_be_one_thing_only_weaves_nothing() {
    let two = |at: usize| at.is_multiple_of(50);
    let variables =
        (0..MOST_VARIABLES).map(|at| if two(at) { binary(format!("v{at}")) } else { lone(format!("v{at}")) });
    let table = |at: usize| {
        let parents: Vec<usize> = (at.saturating_sub(64)..at).collect();
        let rows = match (two(at), 1 << parents.iter().filter(|parent| two(**parent)).count()) {
            (false, rows) => vec![1.0; rows],
            (true, 1) => vec![0.2, 0.8],
            (true, _) => vec![0.9, 0.1, 0.1, 0.9],
        };
        Table { parents, rows }
    };
    let network = Network::new(variables.collect(), (0..MOST_VARIABLES).map(table).collect()).unwrap();
    let tree = compiled(&network);
    // A hundred in a chain make 99 pairs.
    assert_eq!((tree.width(), tree.entries()), (1, 99 * 4 + 4_900));
    let (mut work, evidence) = (tree.work(), Evidence::none(&network));
    let posterior = tree.update(&evidence, &mut work).unwrap();
    let mut yes = 0.8;
    for at in 0..MOST_VARIABLES {
        match posterior.marginal(at) {
            [only] => assert!(!two(at) && *only == 1.0),
            [_, got] => {
                assert!(two(at) && (got - yes).abs() < 1e-12, "{at}: {got}, not {yes}");
                yes = 0.1 + 0.8 * yes;
            }
            other => panic!("{other:?}"),
        }
    }
}

/// As many of one state and nothing else, each waiting for the 64 before it.
#[test]
fn a_network_in_which_nothing_is_uncertain_is_answered() {
    let table = |at: usize| Table { parents: (at.saturating_sub(64)..at).collect(), rows: vec![1.0] };
    let variables = (0..MOST_VARIABLES).map(|at| lone(format!("v{at}"))).collect();
    let network = Network::new(variables, (0..MOST_VARIABLES).map(table).collect()).unwrap();
    let tree = compiled(&network);
    assert_eq!((tree.width(), tree.entries()), (0, MOST_VARIABLES));
    let (mut work, evidence) = (tree.work(), Evidence::none(&network));
    let posterior = tree.update(&evidence, &mut work).unwrap();
    assert!((0..MOST_VARIABLES).all(|at| posterior.marginal(at) == [1.0]) && posterior.ln_evidence() == 0.0);
}

#[test]
fn variables_of_one_state_among_others_are_certain_and_tell_nothing() {
    // cause -> (rust, always) -> blister; the row of `always` is rounded.
    let variables =
        vec![lone("always".into()), binary("cause".into()), binary("rust".into()), binary("blister".into())];
    let tables = vec![
        Table { parents: vec![2, 1], rows: vec![1.0, 0.9995, 1.0, 1.0] },
        Table { parents: vec![], rows: vec![0.6, 0.4] },
        Table { parents: vec![1], rows: vec![0.8, 0.2, 0.3, 0.7] },
        Table { parents: vec![0, 2], rows: vec![0.9, 0.1, 0.25, 0.75] },
    ];
    let network = Network::new(variables, tables).unwrap();
    let tree = compiled(&network);
    let mut work = tree.work();
    let none = Evidence::none(&network);
    let before = tree.update(&none, &mut work).unwrap().marginal(2).to_vec();
    // 0.6 * 0.2 + 0.4 * 0.7
    assert!((before[1] - 0.4).abs() < 1e-15, "{before:?}");
    let mut said = none.clone();
    said.is(0, 0).unwrap();
    said.likely(0, &[0.25]).unwrap();
    let posterior = tree.update(&said, &mut work).unwrap();
    assert!((posterior.evidence() - 0.25).abs() < 1e-15 && posterior.marginal(0) == [1.0]);
    assert_eq!(posterior.marginal(2), before);
    said.likely(0, &[0.0]).unwrap();
    assert_eq!(tree.update(&said, &mut work).err(), Some(NetworkError::Impossible));
    draws_agree(&network, &known(&network, "blister=yes always=so"), (1, 2), 4);
    draws_agree(&network, &known(&network, ""), (0, 3), 5);
}

#[test]
fn a_long_chain_of_unlikely_findings_keeps_its_probability() {
    let count = 2_000;
    let table = |at: usize| match at {
        0 => Table { parents: vec![], rows: vec![0.5, 0.5] },
        _ => Table { parents: vec![at - 1], rows: vec![0.9, 0.1, 0.1, 0.9] },
    };
    let variables = (0..count).map(|at| binary(format!("v{at}"))).collect();
    let network = Network::new(variables, (0..count).map(table).collect()).unwrap();
    let tree = compiled(&network);
    assert_eq!(tree.width(), 1);
    let mut evidence = Evidence::none(&network);
    (0..count).for_each(|at| evidence.is(at, at % 2).unwrap());
    let mut work = tree.work();
    let posterior = tree.update(&evidence, &mut work).unwrap();
    let expect = base::math::ln(0.5) + 1_999.0 * base::math::ln(0.1);
    assert!((posterior.ln_evidence() / expect - 1.0).abs() < 1e-12, "{}", posterior.ln_evidence());
    assert_eq!(posterior.evidence(), 0.0);
}

#[test]
fn networks_that_are_none_are_refused() {
    let two = || vec![binary("a".into()), binary("b".into())];
    let free = || Table { parents: vec![], rows: vec![0.5, 0.5] };
    let on = |parents: Vec<usize>| Table { rows: [0.5, 0.5].repeat(1 << parents.len()), parents };
    let refused = |variables, tables| Network::new(variables, tables).unwrap_err();
    let names = vec!["a".to_owned(), "b".to_owned()];
    assert_eq!(refused(two(), vec![on(vec![1]), on(vec![0])]), NetworkError::Cycle { names });
    assert_eq!(refused(two(), vec![on(vec![0]), free()]), NetworkError::Cycle { names: vec!["a".into()] });
    assert_eq!(refused(two(), vec![free()]), NetworkError::TableCount { variables: 2, tables: 1 });
    let name = || "b".to_owned();
    assert_eq!(refused(two(), vec![free(), on(vec![7])]), NetworkError::NoSuchParent { name: name(), parent: 7 });
    assert_eq!(
        refused(two(), vec![free(), on(vec![0, 0])]),
        NetworkError::ParentTwice { name: name(), parent: "a".into() }
    );
    let rows = |rows: Vec<f64>| Table { parents: vec![], rows };
    assert_eq!(
        refused(two(), vec![free(), rows(vec![1.0])]),
        NetworkError::TableSize { name: name(), given: 1, wanted: 2 }
    );
    assert_eq!(
        refused(two(), vec![free(), rows(vec![0.5, 0.4])]),
        NetworkError::RowSum { name: name(), row: 1, sum: 0.9 }
    );
    for bad in [1.5, -0.5, f64::NAN, f64::INFINITY] {
        let told = refused(two(), vec![free(), rows(vec![bad, 1.0])]);
        assert!(matches!(told, NetworkError::NoProbability { row: 1, .. }), "{told}");
    }
    let twice = vec![binary("a".into()), binary("a".into())];
    assert_eq!(refused(twice, vec![free(), free()]), NetworkError::NameTwice { name: "a".into() });
    let none = vec![Variable { name: "a".into(), states: vec![] }];
    assert_eq!(refused(none, vec![free()]), NetworkError::NoStates { name: "a".into() });
    let same = vec![Variable { name: "a".into(), states: vec!["x".into(), "x".into()] }];
    assert_eq!(refused(same, vec![free()]), NetworkError::StateTwice { name: "a".into(), state: "x".into() });
}

#[test]
fn evidence_that_names_nothing_is_refused() {
    let network = network("asia");
    let mut evidence = Evidence::none(&network);
    for (variable, state) in [(0, 2), (8, 0), (10_000, 0), (0, usize::MAX)] {
        assert_eq!(evidence.is(variable, state), Err(NetworkError::NoSuchState { variable, state }));
    }
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(evidence.likely(0, &[1.0, bad]), Err(NetworkError::NoLikelihood { variable: 0, .. })));
    }
    assert!(evidence.likely(0, &[1.0]).is_err() && evidence.likely(10_000, &[1.0]).is_err());
    assert_eq!(evidence, Evidence::none(&network));
    evidence.forget(10_000);
    let tree = compiled(&network);
    let mut work = tree.work();
    assert!(tree.update(&evidence, &mut work).unwrap().marginal(99).is_empty());
}
