//! Every data file of the colour engine says where it comes from.

use std::fs;
use std::path::Path;

#[test]
fn every_data_file_has_its_birth_certificate() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/colour");
    let mut data_files = 0;
    for entry in fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        match path.extension().and_then(|extension| extension.to_str()) {
            Some("csv") => {
                data_files += 1;
                let certificate = path.with_extension("toml");
                let text = fs::read_to_string(&certificate)
                    .unwrap_or_else(|error| panic!("{}: {error}", certificate.display()));
                let table: toml::Table = text.parse().unwrap();
                for key in ["source", "edition", "unit", "licence", "tolerance"] {
                    let value = table.get(key).and_then(toml::Value::as_str).unwrap_or_default();
                    assert!(!value.trim().is_empty(), "{}: no {key}", certificate.display());
                }
            }
            Some("toml") => {
                assert!(path.with_extension("csv").exists(), "{} is an orphan", path.display());
            }
            _ => {}
        }
    }
    assert_eq!(data_files, 16);
}
