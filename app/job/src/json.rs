//! JSON files that people hand over: read key by key, every refusal naming file, key, what stands there and
//! what would be right.
//!
//! A key is told as it is reached from the top, lists counted from 1: `toners.3.kind`. Keys that nobody asks
//! for are a warning, since a misspelt one would otherwise be lost without a word.

use std::ops::RangeInclusive;

use base::Warning;
use serde_json::Value;

use crate::table::shown;

/// Why a JSON file was refused, in one line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JsonError {
    /// The file is larger than the limit.
    #[error("{}: {bytes} bytes; at most {limit} are read", shown(.file))]
    TooBig {
        /// Name of the file.
        file: String,
        /// Its size in bytes.
        bytes: usize,
        /// The size allowed, in bytes.
        limit: usize,
    },
    /// The text is not JSON.
    #[error("{}, row {row}, column {column}: this is not JSON ({why})", shown(.file))]
    NotJson {
        /// Name of the file.
        file: String,
        /// Line, the first being 1.
        row: usize,
        /// Place in the line.
        column: usize,
        /// What is wrong there.
        why: String,
    },
    /// A key that is needed is not there.
    #[error("{}, key {}: missing; needed: {wanted}", shown(.file), shown(.key))]
    Missing {
        /// Name of the file.
        file: String,
        /// The key.
        key: String,
        /// What would be right.
        wanted: String,
    },
    /// A key holds something else than it needs.
    #[error("{}, key {}: {found} found; needed: {wanted}", shown(.file), shown(.key))]
    Value {
        /// Name of the file.
        file: String,
        /// The key.
        key: String,
        /// What stands there, shortened.
        found: String,
        /// What would be right.
        wanted: String,
    },
}

/// A JSON file that was read.
#[derive(Debug, Clone)]
pub struct Document {
    file: String,
    value: Value,
}

impl Document {
    /// Reads `bytes` as JSON of at most `limit` bytes; `file` is the name used in messages.
    ///
    /// # Errors
    /// When it is larger, or not JSON.
    pub fn read(file: &str, bytes: &[u8], limit: usize) -> Result<Self, JsonError> {
        if bytes.len() > limit {
            return Err(JsonError::TooBig { file: file.into(), bytes: bytes.len(), limit });
        }
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let value = serde_json::from_slice(bytes).map_err(|e| {
            let why = e.to_string();
            let why = why.split(" at line ").next().unwrap_or(&why).to_owned();
            JsonError::NotJson { file: file.into(), row: e.line(), column: e.column(), why }
        })?;
        Ok(Self { file: file.into(), value })
    }

    /// The whole of it.
    pub fn root(&self) -> Node<'_> {
        Node { file: &self.file, key: String::new(), value: &self.value }
    }
}

/// One value of a [`Document`], with the key under which it stands.
#[derive(Debug, Clone)]
pub struct Node<'a> {
    file: &'a str,
    key: String,
    value: &'a Value,
}

impl<'a> Node<'a> {
    /// The key from the top; empty for the whole file.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The name of the file.
    pub fn file(&self) -> &'a str {
        self.file
    }

    /// A refusal of this value that says what would be right.
    pub fn refuse(&self, wanted: impl Into<String>) -> JsonError {
        let key = if self.key.is_empty() { "(the whole file)" } else { &self.key };
        JsonError::Value { file: self.file.into(), key: key.into(), found: said(self.value), wanted: wanted.into() }
    }

    /// The value under a key of this object; `None` when there is none, or null.
    ///
    /// # Errors
    /// When this is no object.
    pub fn get(&self, key: &str) -> Result<Option<Self>, JsonError> {
        let object = self.value.as_object().ok_or_else(|| self.refuse("an object: { ... }"))?;
        Ok(object.get(key).filter(|value| !value.is_null()).map(|value| self.below(key, value)))
    }

    /// The value under a key that must be there.
    ///
    /// # Errors
    /// When it is not, or this is no object.
    pub fn need(&self, key: &str, wanted: &str) -> Result<Self, JsonError> {
        self.get(key)?.ok_or_else(|| JsonError::Missing {
            file: self.file.into(),
            key: self.path(key),
            wanted: wanted.into(),
        })
    }

    /// The keys and values of this object, at most `most`, in the order of their names.
    ///
    /// # Errors
    /// When this is no object, or holds more.
    pub fn entries(&self, most: usize) -> Result<Vec<(&'a str, Self)>, JsonError> {
        let object = self.value.as_object().ok_or_else(|| self.refuse("an object: { ... }"))?;
        if object.len() > most {
            return Err(self.too_many(object.len(), most));
        }
        Ok(object.iter().map(|(key, value)| (key.as_str(), self.below(key, value))).collect())
    }

    /// The values of this list, at most `most`.
    ///
    /// # Errors
    /// When this is no list, or holds more.
    pub fn list(&self, most: usize) -> Result<Vec<Self>, JsonError> {
        let list = self.value.as_array().ok_or_else(|| self.refuse("a list: [ ... ]"))?;
        if list.len() > most {
            return Err(self.too_many(list.len(), most));
        }
        Ok((1..).zip(list).map(|(number, value): (usize, _)| self.below(&number.to_string(), value)).collect())
    }

    /// This text, without the blanks around it, of 1 to `longest` characters.
    ///
    /// # Errors
    /// When it is anything else.
    pub fn text(&self, longest: usize) -> Result<&'a str, JsonError> {
        let text = self.value.as_str().map(str::trim);
        let good = |text: &&str| (1..=longest).contains(&text.chars().count()) && !text.chars().any(char::is_control);
        text.filter(good).ok_or_else(|| self.refuse(format!("a text of 1 to {longest} characters on one line")))
    }

    /// This finite number within `allowed`.
    ///
    /// # Errors
    /// When it is anything else.
    pub fn number(&self, allowed: RangeInclusive<f64>) -> Result<f64, JsonError> {
        let number = self.value.as_f64().filter(|number| allowed.contains(number));
        number.ok_or_else(|| {
            self.refuse(if allowed == ANY {
                "a number".to_owned()
            } else {
                format!("a number from {} to {}", allowed.start(), allowed.end())
            })
        })
    }

    /// This whole number within `allowed`.
    ///
    /// # Errors
    /// When it is anything else.
    pub fn whole(&self, allowed: RangeInclusive<u32>) -> Result<u32, JsonError> {
        let number = self.value.as_u64().and_then(|number| u32::try_from(number).ok());
        number
            .filter(|number| allowed.contains(number))
            .ok_or_else(|| self.refuse(format!("a whole number from {} to {}", allowed.start(), allowed.end())))
    }

    /// This list of exactly `N` finite numbers.
    ///
    /// # Errors
    /// When it is anything else.
    pub fn numbers<const N: usize>(&self) -> Result<[f64; N], JsonError> {
        let list = self.value.as_array().filter(|list| list.len() == N);
        let list = list.ok_or_else(|| self.refuse(format!("a list of {N} numbers")))?;
        let mut numbers = [0.0; N];
        for (place, (number, value)) in (1..).zip(numbers.iter_mut().zip(list)) {
            *number = value.as_f64().ok_or_else(|| self.below(&place.to_string(), value).refuse("a number"))?;
        }
        Ok(numbers)
    }

    /// One warning for each key of this object that is none of `known`.
    pub fn unused(&self, known: &[&str]) -> Vec<Warning> {
        let keys = self.value.as_object().into_iter().flat_map(|object| object.keys());
        keys.filter(|key| !known.contains(&key.as_str()))
            .take(MOST_UNUSED)
            .map(|key| Warning::new(format!("{}: the key {} is not used", shown(self.file), shown(&self.path(key)))))
            .collect()
    }

    fn path(&self, key: &str) -> String {
        if self.key.is_empty() { key.into() } else { format!("{}.{key}", self.key) }
    }

    fn below(&self, key: &str, value: &'a Value) -> Self {
        Self { file: self.file, key: self.path(key), value }
    }

    fn too_many(&self, found: usize, most: usize) -> JsonError {
        let key = if self.key.is_empty() { "(the whole file)" } else { &self.key };
        JsonError::Value {
            file: self.file.into(),
            key: key.into(),
            found: format!("{found} of them"),
            wanted: format!("at most {most}"),
        }
    }
}

/// Every finite number: what is right for it is said elsewhere.
pub const ANY: RangeInclusive<f64> = f64::MIN..=f64::MAX;

/// How many keys that nobody asked for are named.
const MOST_UNUSED: usize = 20;

/// A value as a message gives it.
fn said(value: &Value) -> String {
    match value {
        Value::Array(list) => format!("a list of {}", list.len()),
        Value::Object(_) => "an object".into(),
        other => {
            let text = other.to_string();
            let cut: String = text.chars().take(80).collect();
            shown(&if cut.len() < text.len() { format!("{cut} ...") } else { cut })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn document(text: &str) -> Document {
        Document::read("f.json", text.as_bytes(), 1_000).unwrap()
    }

    #[test]
    fn what_is_no_json_or_too_long_is_refused_with_its_place() {
        let refused = |bytes: &[u8]| Document::read("f.json", bytes, 30).unwrap_err().to_string();
        assert_eq!(refused(b"{\"a\":1,\n}"), "f.json, row 2, column 1: this is not JSON (trailing comma)");
        assert!(refused(b"").starts_with("f.json, row 1, column 0: this is not JSON"));
        assert!(refused(b"\xff\xfe").starts_with("f.json, row 1"));
        assert!(refused(b"[1e999]").contains("number out of range"));
        assert_eq!(refused(&[b' '; 31]), "f.json: 31 bytes; at most 30 are read");
        // A hundred thousand brackets are no stack overflow.
        let deep = "[".repeat(100_000);
        assert!(Document::read("f.json", deep.as_bytes(), 1 << 20).unwrap_err().to_string().contains("recursion"));
    }

    #[test]
    fn a_wrong_value_is_named_by_its_key_from_the_top() {
        let read = document(r#"{"toners":[{"kind":"solid"},{"kind":7,"list":[1,"x",3]}],"none":null}"#);
        let second = read.root().need("toners", "a list").unwrap().list(5).unwrap().remove(1);
        let kind = second.need("kind", "a word").unwrap();
        assert_eq!(
            kind.text(20).unwrap_err().to_string(),
            "f.json, key toners.2.kind: 7 found; needed: a text of 1 to 20 characters on one line"
        );
        assert_eq!(kind.number(0.0..=7.0).unwrap(), 7.0);
        assert!(kind.number(0.0..=6.0).unwrap_err().to_string().ends_with("7 found; needed: a number from 0 to 6"));
        assert_eq!(kind.whole(1..=7).unwrap(), 7);
        assert!(kind.whole(1..=6).is_err());
        let list = second.need("list", "three").unwrap();
        assert!(list.numbers::<3>().unwrap_err().to_string().contains("key toners.2.list.2: \"x\" found"));
        assert!(
            list.numbers::<4>().unwrap_err().to_string().ends_with("a list of 3 found; needed: a list of 4 numbers")
        );
        assert!(
            second
                .need("max", "a number")
                .unwrap_err()
                .to_string()
                .ends_with("key toners.2.max: missing; needed: a number")
        );
        assert!(read.root().get("none").unwrap().is_none());
        assert!(read.root().list(5).is_err() && kind.get("x").is_err() && kind.entries(5).is_err());
        assert!(read.root().entries(1).unwrap_err().to_string().contains("2 of them found; needed: at most 1"));
    }

    #[test]
    fn keys_that_nobody_asks_for_are_named_and_their_number_has_an_end() {
        let said = document(r#"{"a":1,"b":2}"#).root().unused(&["a"]);
        assert_eq!(said.len(), 1);
        assert_eq!(said[0].what, "f.json: the key b is not used");
        let many: Vec<String> = (0..50).map(|n| format!("\"k{n}\":0")).collect();
        assert_eq!(document(&format!("{{{}}}", many.join(","))).root().unused(&[]).len(), MOST_UNUSED);
    }
}
