//! Enough of a reader of HTML to tell whether a page is put together properly.

use std::collections::{BTreeMap, BTreeSet};

/// One opening tag.
#[derive(Debug, Clone)]
pub(crate) struct Tag {
    pub(crate) name: String,
    pub(crate) attributes: BTreeMap<String, String>,
    /// The text up to the next tag.
    pub(crate) text: String,
    /// The tags it stands in, outermost first.
    pub(crate) inside: Vec<String>,
}

impl Tag {
    pub(crate) fn get(&self, name: &str) -> &str {
        self.attributes.get(name).map_or("", String::as_str)
    }

    pub(crate) fn has(&self, name: &str) -> bool {
        self.attributes.contains_key(name)
    }
}

const VOID: [&str; 8] = ["meta", "link", "input", "img", "br", "hr", "col", "source"];

/// Every opening tag of a page, in order. Fails when a tag is not closed where it should be.
pub(crate) fn tags(page: &str) -> Result<Vec<Tag>, String> {
    let mut found: Vec<Tag> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    let mut rest = page;
    while let Some(start) = rest.find('<') {
        if let Some(last) = found.last_mut().filter(|last| open.last() == Some(&last.name)) {
            last.text.push_str(&rest[..start]);
        }
        rest = &rest[start + 1..];
        if let Some(doctype) = rest.strip_prefix('!') {
            rest = &doctype[doctype.find('>').ok_or("an unclosed declaration")? + 1..];
            continue;
        }
        let end = end_of_tag(rest).ok_or_else(|| format!("an unclosed tag: {}", clip(rest)))?;
        let inner = &rest[..end];
        rest = &rest[end + 1..];
        if let Some(name) = inner.strip_prefix('/') {
            let was = open.pop().unwrap_or_default();
            if was != name.trim() {
                return Err(format!("</{name}> closes <{was}> in {open:?} before {}", clip(rest)));
            }
            continue;
        }
        let own_end = inner.ends_with('/');
        let tag = read(inner.trim_end_matches('/'), &open)?;
        if own_end && !open.iter().any(|t| t == "svg") {
            return Err(format!("<{inner}> closes itself outside a drawing"));
        }
        if !own_end && !VOID.contains(&tag.name.as_str()) {
            open.push(tag.name.clone());
        }
        found.push(tag);
    }
    if open.is_empty() { Ok(found) } else { Err(format!("never closed: {open:?}")) }
}

fn end_of_tag(text: &str) -> Option<usize> {
    let mut quoted = false;
    text.char_indices()
        .find(|(_, c)| {
            if *c == '"' {
                quoted = !quoted;
            }
            *c == '>' && !quoted
        })
        .map(|(at, _)| at)
}

fn read(inner: &str, open: &[String]) -> Result<Tag, String> {
    let (name, mut rest) = inner.split_once(char::is_whitespace).unwrap_or((inner, ""));
    if !name.chars().all(|c| c.is_ascii_alphanumeric()) || name.is_empty() {
        return Err(format!("\"{}\" is no tag", clip(inner)));
    }
    let mut attributes = BTreeMap::new();
    while !rest.trim_start().is_empty() {
        rest = rest.trim_start();
        let end = rest.find(|c: char| c == '=' || c.is_whitespace()).unwrap_or(rest.len());
        let key = rest[..end].to_string();
        rest = &rest[end..];
        let value = match rest.strip_prefix("=\"") {
            None if rest.starts_with('=') => return Err(format!("an attribute without quotes in <{}>", clip(inner))),
            None => String::new(),
            Some(text) => {
                let close = text.find('"').ok_or("an unclosed quote")?;
                rest = &text[close + 1..];
                unescape(&text[..close])
            }
        };
        if attributes.insert(key.clone(), value).is_some() {
            return Err(format!("{key} twice in <{}>", clip(inner)));
        }
    }
    Ok(Tag { name: name.to_string(), attributes, text: String::new(), inside: open.to_vec() })
}

fn unescape(text: &str) -> String {
    text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&#39;", "'").replace("&amp;", "&")
}

fn clip(text: &str) -> String {
    text.chars().take(80).collect()
}

/// The words of a page without its tags.
pub(crate) fn words(page: &str) -> String {
    let mut out = String::new();
    let mut rest = page;
    while let Some(start) = rest.find('<') {
        out.push_str(&rest[..start]);
        let end = end_of_tag(&rest[start..]).unwrap_or(rest.len() - start - 1);
        rest = &rest[start + end + 1..];
        if !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out.push_str(rest);
    unescape(&out).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Everything that is wrong with a page: tags, identifiers, labels, inner links, inline style and script.
pub(crate) fn faults(page: &str) -> Vec<String> {
    let tags = match tags(page) {
        Ok(tags) => tags,
        Err(why) => return vec![why],
    };
    let mut faults = Vec::new();
    let mut ids: BTreeSet<&str> = BTreeSet::new();
    for tag in tags.iter().filter(|t| t.has("id")) {
        if !ids.insert(tag.get("id")) {
            faults.push(format!("id \"{}\" twice", tag.get("id")));
        }
    }
    let fields: BTreeSet<&str> = tags
        .iter()
        .filter(|t| ["input", "select", "textarea"].contains(&t.name.as_str()))
        .map(|t| t.get("id"))
        .collect();
    let labels: BTreeSet<&str> = tags.iter().filter(|t| t.name == "label").map(|t| t.get("for")).collect();
    for tag in &tags {
        let name = tag.name.as_str();
        for attribute in tag.attributes.keys() {
            if attribute == "style" || attribute.starts_with("on") {
                faults.push(format!("inline {attribute} in <{name}>"));
            }
        }
        if name == "style" || (name == "script" && !tag.has("src")) {
            faults.push(format!("inline <{name}>"));
        }
        if ["href", "src", "action", "formaction"]
            .iter()
            .any(|a| tag.get(a).trim_start().to_lowercase().starts_with("javascript"))
        {
            faults.push(format!("a script as an address in <{name}>"));
        }
        // The strip of unsent notes is hidden until an island shows it, and leads to a list only some pages have.
        if let Some(target) = tag.get("href").strip_prefix('#').filter(|t| *t != "unsent")
            && !ids.contains(target)
        {
            faults.push(format!("a link to #{target}, which is not on the page"));
        }
        for attribute in ["aria-describedby", "aria-labelledby"] {
            for id in tag.get(attribute).split_whitespace().filter(|id| !ids.contains(id)) {
                faults.push(format!("{attribute} names {id}, which is not on the page"));
            }
        }
        if name == "label" && tag.has("for") && !fields.contains(tag.get("for")) {
            faults.push(format!("a label for \"{}\", which is no field", tag.get("for")));
        }
        let typed = (name == "input" && !["hidden", "image", "submit"].contains(&tag.get("type")))
            || name == "select"
            || name == "textarea";
        if typed
            && !tag.inside.iter().any(|t| t == "label")
            && !labels.contains(tag.get("id"))
            && !tag.has("aria-label")
        {
            faults.push(format!("<{name} name=\"{}\"> without a label", tag.get("name")));
        }
        if (name == "img" || tag.get("type") == "image") && !tag.has("alt") {
            faults.push("a picture without words".into());
        }
        if name == "form" && tag.get("method") != "post" && !tag.get("enctype").is_empty() {
            faults.push("a form that reads has an encoding".into());
        }
    }
    for wanted in ["h1", "main", "title"] {
        let there = tags.iter().filter(|t| t.name == wanted && !t.inside.iter().any(|i| i == "svg")).count();
        if there != 1 {
            faults.push(format!("{there} <{wanted}>"));
        }
    }
    faults
}

/// What the form with this id, or whose action ends so, would send as it stands: hidden fields, text, ticked choices.
pub(crate) fn filled(page: &str, form_id: &str) -> Vec<(String, String)> {
    let tags = tags(page).unwrap();
    let start = tags
        .iter()
        .position(|t| t.name == "form" && t.get("id") == form_id)
        .unwrap_or_else(|| panic!("no form {form_id}"));
    let depth = tags[start].inside.len();
    let mut out = Vec::new();
    let mut select = String::new();
    for tag in tags[start + 1..].iter().take_while(|t| t.inside.len() > depth) {
        match (tag.name.as_str(), tag.get("type")) {
            ("input", "radio" | "checkbox") if !tag.has("checked") => {}
            ("input", "file" | "image") => {}
            ("input", _) => out.push((tag.get("name").into(), tag.get("value").into())),
            ("textarea", _) => out.push((tag.get("name").into(), unescape(&tag.text))),
            ("select", _) => select = tag.get("name").into(),
            ("option", _) if tag.has("selected") => out.push((select.clone(), tag.get("value").into())),
            _ => {}
        }
    }
    out
}
