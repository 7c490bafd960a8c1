//! What somebody typed into a form, kept whole so that a page can show it again.

use std::collections::BTreeMap;

use axum::body::Bytes;
use axum::extract::Multipart;
use job::validate::FieldError;

use crate::fault::Fault;

/// The most fields a form may have, and the most bytes all text fields together.
const MOST_FIELDS: usize = 400;
const MOST_TEXT: usize = 1024 * 1024;

/// A form as it was sent.
#[derive(Debug, Clone, Default)]
pub(crate) struct Typed {
    fields: BTreeMap<String, Vec<String>>,
    /// The file sent with it: its name and bytes. An empty file field sends neither.
    pub(crate) file: Option<(String, Bytes)>,
    /// Every file sent with it, by the name of its field.
    pub(crate) files: BTreeMap<String, (String, Bytes)>,
}

impl Typed {
    /// Reads a multipart form.
    pub(crate) async fn read(mut form: Multipart) -> Result<Self, Fault> {
        let mut typed = Self::default();
        let (mut count, mut size) = (0, 0);
        while let Some(field) = form.next_field().await.map_err(|e| refused(&e))? {
            count += 1;
            let name = field.name().unwrap_or_default().to_owned();
            let file = field.file_name().map(str::to_owned);
            let bytes = field.bytes().await.map_err(|e| refused(&e))?;
            if let Some(file) = file {
                if count > MOST_FIELDS {
                    return Err(Fault::TooLarge("The form holds too many fields. Nothing was kept.".into()));
                }
                if !bytes.is_empty() {
                    let file: String = file.chars().take(120).collect();
                    typed.files.insert(name, (file.clone(), bytes.clone()));
                    typed.file = Some((file, bytes));
                }
                continue;
            }
            size += bytes.len();
            if count > MOST_FIELDS || size > MOST_TEXT {
                return Err(Fault::TooLarge("The form holds more than 1 MB of text. Nothing was kept.".into()));
            }
            let value = String::from_utf8(bytes.into())
                .map_err(|_| Fault::Bad(format!("The field \"{name}\" is not UTF-8 text. Nothing was kept.")))?;
            typed.fields.entry(name).or_default().push(value);
        }
        Ok(typed)
    }

    /// A form that holds these fields.
    pub(crate) fn from_pairs<'a>(pairs: impl IntoIterator<Item = (&'a str, String)>) -> Self {
        let mut typed = Self::default();
        for (name, value) in pairs {
            typed.fields.entry(name.into()).or_default().push(value);
        }
        typed
    }

    /// The field's text without blanks at the ends; empty when it was not sent.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.fields.get(name).and_then(|v| v.last()).map_or("", |v| v.trim())
    }

    /// Every value of a field that can be chosen several times.
    pub(crate) fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.fields.get(name).into_iter().flatten().map(|v| v.trim())
    }

    /// Whether a choice has this value.
    pub(crate) fn is(&self, name: &str, value: &str) -> bool {
        self.all(name).any(|v| v == value)
    }

    /// Every field with every value, to be sent on unseen.
    pub(crate) fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.fields.iter().flat_map(|(name, values)| values.iter().map(move |v| (name.as_str(), v.as_str())))
    }

    /// Sets a field in place of whatever was typed.
    pub(crate) fn set(&mut self, name: &str, value: String) {
        self.fields.insert(name.into(), vec![value]);
    }

    /// Sets every value of a field that can be chosen several times.
    pub(crate) fn set_all(&mut self, name: &str, values: Vec<String>) {
        self.fields.insert(name.into(), values);
    }

    /// The field as a number, or why it is none. A decimal comma is read as such: in one number there is
    /// nothing else it could be, unless it groups thousands, which is refused.
    pub(crate) fn number(&self, name: &'static str, what: &str) -> Result<f64, FieldError> {
        let text = self.get(name);
        let wrong = |right: &str| FieldError::new(name, format!("\"{text}\" was typed for the {what}"), right);
        if text.is_empty() {
            return Err(FieldError::new(name, format!("the {what} is missing"), "Type a number."));
        }
        let commas = text.matches(',').count();
        if commas > 1 || (commas == 1 && text.contains('.')) {
            return Err(wrong("Type it without separators between thousands, such as 1250 or 0.52."));
        }
        match text.replace(',', ".").parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => Err(wrong("Type a number, such as 6.5 or 0.52.")),
        }
    }

    /// The field as a number, or nothing when it was left empty.
    pub(crate) fn number_if_any(&self, name: &'static str, what: &str) -> Result<Option<f64>, FieldError> {
        if self.get(name).is_empty() { Ok(None) } else { self.number(name, what).map(Some) }
    }
}

fn refused(e: &axum::extract::multipart::MultipartError) -> Fault {
    if e.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
        Fault::TooLarge(
            "More was sent than is taken at once: a photograph may have at most 40 MB. Nothing was kept.".into(),
        )
    } else {
        Fault::Bad("The form was cut off on its way. Nothing was kept; send it again.".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_typed_or_refused() {
        let typed = |text: &str| Typed::from_pairs([("x", text.to_string())]);
        assert_eq!(typed("0.52").number("x", "wall").unwrap(), 0.52);
        assert_eq!(typed(" 0,52 ").number("x", "wall").unwrap(), 0.52);
        assert_eq!(typed("-3").number("x", "panel").unwrap(), -3.0);
        for wrong in ["", "1,250.5", "1,2,3", "NaN", "inf", "0.5 mm", "abc"] {
            assert!(typed(wrong).number("x", "wall").is_err(), "{wrong}");
        }
        assert_eq!(typed("").number_if_any("x", "wall").unwrap(), None);
    }
}
