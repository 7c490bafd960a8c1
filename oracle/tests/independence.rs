//! The simulator stands apart from what it checks.

// A helper that fails is a test that fails.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

/// The names of everything that `package` depends on, near or far, for building or for tests.
fn dependencies(metadata: &Value, package: &str) -> BTreeSet<String> {
    let texts = |list: &Value| -> Vec<String> {
        list.as_array().into_iter().flatten().filter_map(|v| v.as_str().map(str::to_owned)).collect()
    };
    let rows = |list: &'_ Value, key: &str| -> BTreeMap<String, Value> {
        let rows = list.as_array().into_iter().flatten();
        rows.filter_map(|row| Some((row["id"].as_str()?.to_owned(), row[key].clone()))).collect()
    };
    let names = rows(&metadata["packages"], "name");
    let edges = rows(&metadata["resolve"]["nodes"], "dependencies");
    let mut waiting: Vec<&String> = names.iter().filter(|(_, name)| *name == package).map(|(id, _)| id).collect();
    let mut found = BTreeSet::new();
    while let Some(id) = waiting.pop() {
        for on in texts(&edges[id]) {
            if let Some((id, name)) = names.get_key_value(&on)
                && found.insert(name.as_str().unwrap_or_default().to_owned())
            {
                waiting.push(id);
            }
        }
    }
    found
}

#[test]
fn invariant_no_optics_are_shared_with_the_engine() {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let found = dependencies(&metadata, "oracle");
    // The search works: it finds what is there.
    assert!(found.contains("base") && found.contains("rayon") && found.contains("libm"), "{found:?}");
    for engine in ["colour", "coating", "guidecoat"] {
        assert!(!found.contains(engine), "oracle depends on {engine}");
    }
}
