use proptest::prelude::*;

use super::*;

fn read(text: &str) -> Result<Table, TableError> {
    Table::read("t.csv", text.as_bytes(), &Limits::USUAL)
}

fn refusal(text: &str) -> String {
    read(text).expect_err("must be refused").to_string()
}

/// The numbers of a table's first column, or the refusal.
fn numbers(text: &str) -> Result<Vec<f64>, String> {
    let table = read(text).map_err(|e| e.to_string())?;
    let column = table.column(&table.heading()[0]).map_err(|e| e.to_string())?;
    table.rows().map(|row| row.f64(&column, f64::MIN..=f64::MAX).map_err(|e| e.to_string())).collect()
}

#[test]
fn bom_crlf_cr_and_blank_lines_are_read_and_rows_keep_their_line() {
    for text in ["\u{feff}a,b\r\n\r\n1,x\r\n\r\n2,y", "a,b\n\n1,x\n\n2,y\n", "a,b\r\r1,x\r\r2,y\r"] {
        let table = read(text).unwrap();
        assert_eq!(table.heading(), ["a", "b"], "{text:?}");
        let rows: Vec<_> = table.rows().map(|row| row.number()).collect();
        assert_eq!(rows, [3, 5], "{text:?}");
        assert!(table.warnings().is_empty());
    }
}

#[test]
fn a_cell_over_two_lines_counts_both() {
    let table = read("a,b\n\"one\ntwo\",1\nthree,x\n").unwrap();
    let b = table.column("b").unwrap();
    let last = table.rows().nth(1).unwrap();
    assert_eq!(last.number(), 4);
    assert_eq!(
        last.f64(&b, 0.0..=9.0).unwrap_err().to_string(),
        "t.csv, row 4, column b: \"x\" found; needed: a number from 0 to 9"
    );
}

#[test]
fn empty_files_say_so() {
    for text in ["", " \r\n ", "\u{feff}"] {
        assert_eq!(refusal(text), "t.csv: the file is empty; a heading and at least one row are needed");
    }
    assert_eq!(refusal("a,b\n"), "t.csv: there is a heading but no row below it");
    assert_eq!(refusal("a,b\n,\n"), "t.csv: there is a heading but no row below it");
}

#[test]
fn bytes_that_are_not_text_are_refused_with_their_row() {
    let limits = Limits::USUAL;
    let latin1 = Table::read("t.csv", b"name\nfine\nr\xE9sum\xE9\n", &limits).unwrap_err();
    assert!(matches!(latin1, TableError::NotText { row: 3, .. }), "{latin1}");
    let utf16 = Table::read("t.csv", b"\xFF\xFEa\0\n\0", &limits).unwrap_err();
    assert!(matches!(utf16, TableError::NotText { row: 1, .. }), "{utf16}");
    let zeros = Table::read("t.csv", b"a\n1\n\0\n", &limits).unwrap_err();
    assert!(matches!(zeros, TableError::NotText { row: 3, .. }), "{zeros}");
}

#[test]
fn a_file_cut_short_is_refused() {
    assert!(refusal("a,b\n1,2\n3").starts_with("t.csv, row 3: 1 cell where the heading has 2"));
    assert!(refusal("a,b\n1,\"two\n3,4\n").starts_with("t.csv, row 2: a quotation mark opened here"));
    assert!(refusal("a,b\n\"x\"y,2\n").starts_with("t.csv, row 2: text follows a closing"));
    assert!(refusal("a,b\n1,2,3\n").starts_with("t.csv, row 2: 3 cells where"));
}

#[test]
fn empty_columns_that_spreadsheets_add_are_dropped() {
    let table = read("a,b,,\n1,2,,\n3,4,,,,\n,,,\n").unwrap();
    assert_eq!(table.heading(), ["a", "b"]);
    assert_eq!(table.rows().len(), 2);
    assert_eq!(refusal("a,,b\n1,2,3\n"), "t.csv, heading: column 2 has no name");
    assert_eq!(refusal("a,b,a\n1,2,3\n"), "t.csv, heading: two columns are called a");
}

#[test]
fn other_separators_are_read_and_named() {
    for (text, word) in [("a;b\n1;2\n", "semicolons"), ("a\tb\n1\t2\n", "tabs")] {
        let table = read(text).unwrap();
        assert_eq!(table.heading(), ["a", "b"]);
        assert_eq!(table.warnings()[0].what, format!("t.csv: the columns are separated by {word}; read as such"));
    }
    assert!(refusal("a;b,c\n1;2\n").contains("the heading holds commas and semicolons"));
    assert_eq!(read("\"a;b\",c\n1,2\n").unwrap().heading(), ["a;b", "c"]);
}

#[test]
fn a_leading_tab_is_a_separator_not_a_space() {
    assert_eq!(refusal("\ta\n1\t2\n"), "t.csv, heading: column 1 has no name");
}

#[test]
fn decimal_commas_are_read_only_when_every_number_agrees() {
    assert_eq!(numbers("a;b\n0,5;x\n12;y\n1,25e3;z\n").unwrap(), [0.5, 12.0, 1250.0]);
    let told = read("a;b\n0,5;x\n").unwrap();
    assert_eq!(told.warnings()[1].what, "t.csv: numbers are written with a decimal comma (0,5); read as such");
    assert_eq!(
        numbers("a;b\n0,5;x\n0.6;y\n").unwrap_err(),
        "t.csv: 0,5 (row 2, a) has a decimal comma and 0.6 (row 3, a) a decimal point; use one throughout"
    );
    assert_eq!(
        numbers("a,b\n\"0,5\",x\n").unwrap_err(),
        "t.csv, row 2, column a: \"0,5\" found; needed: the decimal mark of the rest of the file (0.5)"
    );
}

#[test]
fn thousands_are_never_taken_for_decimals() {
    assert!(numbers("a;b\n1,200;2\n").unwrap_err().contains("both as thousands and as a decimal"));
    // One number that can only be a decimal settles it for the file.
    assert_eq!(numbers("a;b\n1,200;2\n0,300;2\n").unwrap(), [1.2, 0.3]);
    for bad in ["1.200,5", "1 200", "1'200", "12,34,56"] {
        assert!(numbers(&format!("a;b\n{bad};2\n")).is_err(), "{bad}");
    }
}

#[test]
fn a_note_with_a_comma_has_no_say() {
    assert_eq!(numbers("a;note\n0.5;1,5\n0.6;sanded\n0.7;again\n").unwrap(), [0.5, 0.6, 0.7]);
}

#[test]
fn only_finite_numbers_in_range_are_numbers() {
    for bad in ["NaN", "nan", "inf", "-inf", "infinity", "1e999", "0x10", "1_0", "--1", "1e", "e5", "."] {
        let said = numbers(&format!("a\n{bad}\n")).unwrap_err();
        assert_eq!(said, format!("t.csv, row 2, column a: \"{bad}\" found; needed: a number"));
    }
    let table = read("a,b\n101,\n").unwrap();
    let row = table.rows().next().unwrap();
    let (a, b) = (table.column("a").unwrap(), table.column("b").unwrap());
    assert_eq!(
        row.f64(&a, 0.0..=100.0).unwrap_err().to_string(),
        "t.csv, row 2, column a: \"101\" found; needed: a number from 0 to 100"
    );
    assert_eq!(
        row.f64(&b, 0.0..=f64::INFINITY).unwrap_err().to_string(),
        "t.csv, row 2, column b: nothing found; needed: a number of at least 0"
    );
    assert_eq!(row.optional_f64(&b, 0.0..=1.0), Ok(None));
    assert!(row.text(&b).is_err());
    assert_eq!(row.whole(&a, 0..=200), Ok(101));
    assert!(row.whole(&a, 0..=100).is_err());
}

#[test]
fn columns_are_found_by_name_and_unknown_ones_are_told() {
    let table = read("Name,L,l,fillm\nx,1,2,3\n").unwrap();
    assert_eq!(table.column("name").unwrap().name(), "Name");
    assert_eq!(table.column("l").unwrap().name(), "l");
    assert_eq!(
        table.column("film").unwrap_err().to_string(),
        "t.csv, heading: the column film is missing; found: Name, L, l, fillm"
    );
    let told = table.unknown_columns(&["name", "l"]);
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].what, "t.csv: the column fillm is not used");
}

#[test]
fn limits_hold() {
    let small = Limits { bytes: 40, rows: 2, columns: 3, cell_bytes: 8 };
    let read = |text: &str| Table::read("t.csv", text.as_bytes(), &small);
    assert!(read("a,b,c\n1,2,3\n4,5,6\n").is_ok());
    assert!(matches!(read(&"a".repeat(41)), Err(TableError::TooBig { bytes: 41, limit: 40, .. })));
    assert!(matches!(read("a\n1\n2\n3\n"), Err(TableError::TooManyRows { limit: 2, .. })));
    assert!(matches!(read("a,b,c,d\n1,2,3,4\n"), Err(TableError::TooManyColumns { columns: 4, .. })));
    assert!(matches!(read("a,b\n1,123456789\n"), Err(TableError::LongCell { row: 2, column: 2, .. })));
}

#[test]
fn a_million_rows_are_refused_not_swallowed() {
    let text = format!("a\n{}", "1\n".repeat(1_000_000));
    assert!(matches!(read(&text), Err(TableError::TooManyRows { limit: 200_000, .. })));
}

#[test]
fn readings_come_with_or_without_a_name() {
    let read = |text: &str| readings::read("r.csv", text.as_bytes(), &Limits::USUAL);
    for (text, warnings) in [
        ("film\n82\n95.5\n", 0),
        ("anything\n82\n95.5\n", 0),
        ("82\n95.5\n", 1),
        ("\u{feff}82\r\n95.5", 1),
        ("point,film_um\nr1,82\nr2,95.5\n", 1),
        ("point;film_um\nr1;82\nr2;95,5\n", 3),
    ] {
        let got = read(text).unwrap();
        assert_eq!(got.film_um, [82.0, 95.5], "{text:?}");
        assert_eq!(got.warnings.len(), warnings, "{text:?} {:?}", got.warnings);
    }
    assert_eq!(read("82").unwrap().film_um, [82.0]);
    for (text, said) in [
        ("82\n-1\n", "r.csv, row 2, column film_um: \"-1\" found; needed: a number from 0 to 100000"),
        ("film\n82\nNaN\n", "r.csv, row 3, column film: \"NaN\" found; needed: a number from 0 to 100000"),
        ("film\n", "r.csv: there is a heading but no row below it"),
        ("a,b\n1,2\n", "r.csv, heading: the column film_um is missing; found: a, b"),
    ] {
        assert_eq!(read(text).unwrap_err().to_string(), said);
    }
    assert!(read("80,5\n81,5\n").is_err());
}

/// A measurement file with `edit` applied to its text.
fn spectra_file(id: &str, rows: &[(&str, &str, f64)]) -> String {
    let mut text = format!("{id}geometry");
    for nm in (400..=700).step_by(10) {
        text.push_str(&format!(",{nm}"));
    }
    text.push('\n');
    for (name, geometry, value) in rows {
        text.push_str(&format!("{name}{geometry}"));
        for _ in 0..31 {
            text.push_str(&format!(",{value}"));
        }
        text.push('\n');
    }
    text
}

#[test]
fn measurements_are_grouped_by_id_in_the_order_of_the_file() {
    let text = spectra_file("target_id,", &[("B,", "45as15", 0.5), ("A,", "45as15", 0.1), ("B,", "45as110", 0.2)]);
    let (got, warnings) = spectra::measurements("m.csv", text.as_bytes(), &Limits::USUAL).unwrap();
    assert!(warnings.is_empty());
    assert_eq!(got[0].id, "B");
    assert_eq!(got[0].rows[1].geometry, "45as110");
    assert_eq!((got[0].rows[1].row, got[1].rows[0].row), (4, 3));
    assert_eq!(got[1].rows[0].values, [0.1; 31]);

    let text = spectra_file("", &[("", "15", 0.5), ("", "45", 0.1)]);
    let (got, _) = spectra::measurements("m.csv", text.as_bytes(), &Limits::USUAL).unwrap();
    assert_eq!((got.len(), got[0].id.as_str(), got[0].rows.len()), (1, "", 2));
}

#[test]
fn bad_spectra_are_refused_in_clear_words() {
    let good = spectra_file("name,", &[("x,", "15", 0.5), ("x,", "45", 0.25)]);
    let said = |text: &str| {
        spectra::measurements("m.csv", text.as_bytes(), &Limits::USUAL).map(|_| ()).unwrap_err().to_string()
    };
    assert!(said(&good.replace(",430,", ",435,")).starts_with("m.csv, heading: the column 430 is missing"));
    assert!(
        said(&good.replacen("0.25", "NaN", 1)).starts_with("m.csv, row 3, column 400: \"NaN\" found; needed: a number")
    );
    assert!(
        said(&good.replacen("0.25", "-0.2", 1))
            .starts_with("m.csv, row 3, column 400: \"-0.2\" found; needed: a value of at least 0")
    );
    assert!(said(&good.replacen("0.25", "", 1)).contains("row 3, column 400: nothing found"));
    assert!(
        said(&good.replace("0.25", "25.0"))
            .contains("\"25.0\" found; needed: a factor, 1 being a perfect white; this looks like percent")
    );
    assert_eq!(
        said(&good.replace("x,45", "x,15")),
        "m.csv, row 3, column geometry: \"15\" found; needed: a geometry that row 2 has not given already"
    );
    assert!(said(&good.replacen("name,geometry", "geometry,name,id", 1)).contains("m.csv"));
    let rivals = good.replacen("name,", "name,id,", 1).replace("x,", "x,y,");
    assert_eq!(said(&rivals), "m.csv, heading: name and id could each be meant; keep one");
}

#[test]
fn a_bright_flake_is_taken_with_a_warning() {
    let text = spectra_file("", &[("", "45as-15", 2.9)]);
    let (_, warnings) = spectra::measurements("m.csv", text.as_bytes(), &Limits::USUAL).unwrap();
    assert_eq!(warnings.len(), 1);
    assert!(warnings[0].what.contains("2.9 is very bright"));
}

#[test]
fn named_spectra_are_read_one_a_row() {
    let text = spectra_file("", &[("tile", "", 0.9)]).replace("geometry", "name");
    let (got, _) = spectra::named("s.csv", text.as_bytes(), &Limits::USUAL).unwrap();
    assert_eq!((got[0].name.as_str(), got[0].row, got[0].values[30]), ("tile", 2, 0.9));
    let percent = text.replace("0.9", "90");
    let said = spectra::named("s.csv", percent.as_bytes(), &Limits::USUAL).unwrap_err();
    assert!(said.to_string().contains("divide by 100"));
    let nameless = text.replace("name,", "what,");
    let said = spectra::named("s.csv", nameless.as_bytes(), &Limits::USUAL).unwrap_err();
    assert!(said.to_string().contains("the column name is missing"));
}

fn is_one_line(text: &str) -> bool {
    !text.contains(['\n', '\r', '\u{2028}', '\u{2029}']) && !text.chars().any(char::is_control)
}

/// Text made of what tables are made of, so that most of it gets past the first check.
fn table_like() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just(",".to_owned()),
        Just(";".to_owned()),
        Just("\t".to_owned()),
        Just("\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\"".to_owned()),
        Just("0,5".to_owned()),
        Just("1.5".to_owned()),
        Just("1,200".to_owned()),
        Just("NaN".to_owned()),
        Just("geometry".to_owned()),
        Just("\u{feff}".to_owned()),
        Just("\u{2028}".to_owned()),
        Just("\0".to_owned()),
        "[a-z0-9é ]{1,5}".prop_map(|s| s),
    ];
    proptest::collection::vec(piece, 0..60).prop_map(|pieces| pieces.concat())
}

/// Reads `bytes` in every way there is and asks every cell for everything.
fn exercise(file: &str, bytes: &[u8]) {
    let mut said = Vec::new();
    match Table::read(file, bytes, &Limits::USUAL) {
        Ok(table) => {
            said.extend(table.unknown_columns(&[]).into_iter().map(|w| w.what));
            said.extend(table.warnings().iter().map(|w| w.what.clone()));
            let columns: Vec<Column> = table.heading().iter().map(|name| table.column(name).unwrap()).collect();
            for row in table.rows() {
                for column in &columns {
                    match row.f64(column, -1.0..=1.0) {
                        Ok(number) => assert!((-1.0..=1.0).contains(&number)),
                        Err(error) => said.push(error.to_string()),
                    }
                    said.extend(row.text(column).err().map(|e| e.to_string()));
                    said.extend(row.whole(column, 0..=3).err().map(|e| e.to_string()));
                }
            }
        }
        Err(error) => said.push(error.to_string()),
    }
    let limits = Limits::USUAL;
    said.extend(readings::read(file, bytes, &limits).err().map(|e| e.to_string()));
    said.extend(spectra::measurements(file, bytes, &limits).err().map(|e| e.to_string()));
    said.extend(spectra::named(file, bytes, &limits).err().map(|e| e.to_string()));
    for line in said {
        assert!(is_one_line(&line), "{line:?}");
    }
}

proptest! {
    #[test]
    fn invariant_no_bytes_panic_and_every_message_is_one_line(
        bytes in proptest::collection::vec(any::<u8>(), 0..300),
        file in ".{0,20}",
    ) {
        exercise(&file, &bytes);
    }

    #[test]
    fn invariant_no_table_panics_and_every_message_is_one_line(text in table_like()) {
        exercise("t.csv", text.as_bytes());
    }

    #[test]
    fn invariant_numbers_written_with_either_mark_come_back(
        values in proptest::collection::vec(-1.0e6f64..1.0e6, 1..20),
    ) {
        let point: String = values.iter().map(|v| format!("{v};x\n")).collect();
        let comma = point.replace('.', ",");
        prop_assert_eq!(numbers(&format!("a;b\n{point}")), Ok(values.clone()));
        match numbers(&format!("a;b\n{comma}")) {
            Ok(back) => prop_assert_eq!(back, values),
            // Refused only where each comma may part thousands.
            Err(said) => prop_assert!(said.contains("thousands")),
        }
    }
}
