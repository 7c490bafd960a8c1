//! Just enough reading of Rust source for the tidy rules: which characters are code, and where functions lie.

/// One function with a body.
#[derive(Debug, PartialEq)]
pub(crate) struct Function<'a> {
    pub(crate) name: &'a str,
    /// Counted from 1.
    pub(crate) line: usize,
    /// From `fn` to the closing brace.
    pub(crate) line_count: usize,
    pub(crate) is_test: bool,
    /// The function with the attributes and comments right above it.
    pub(crate) whole: &'a str,
}

/// The source with comments and literals blanked by spaces; every byte keeps its place.
pub(crate) fn code_only(source: &str) -> String {
    let bytes = source.as_bytes();
    let mut code = bytes.to_vec();
    let mut at = 0;
    while at < bytes.len() {
        let end = match literal_or_comment_end(bytes, at) {
            Some(end) => end,
            None => {
                at += 1;
                continue;
            }
        };
        for byte in &mut code[at..end] {
            if *byte != b'\n' {
                *byte = b' ';
            }
        }
        at = end;
    }
    // Whole literals and comments were blanked, so what is left is still UTF-8.
    String::from_utf8_lossy(&code).into_owned()
}

/// If a comment or a literal begins at `at`, where it ends.
fn literal_or_comment_end(bytes: &[u8], at: usize) -> Option<usize> {
    let rest = &bytes[at..];
    let after = |length: usize| (at + length).min(bytes.len());
    match rest {
        [b'/', b'/', ..] => Some(after(rest.iter().position(|&byte| byte == b'\n').unwrap_or(rest.len()))),
        [b'/', b'*', ..] => Some(after(block_comment_length(rest))),
        [b'"', ..] => Some(after(quoted_length(rest, b'"'))),
        [b'r', b'"' | b'#', ..] if !continues_a_name(bytes, at) => raw_string_length(rest).map(after),
        // A character, not a lifetime: either escaped or closed right after one character.
        [b'\'', b'\\', ..] => Some(after(quoted_length(rest, b'\''))),
        [b'\'', first, ..] => {
            let width = match first {
                0x00..=0x7f => 1,
                0x80..=0xdf => 2,
                0xe0..=0xef => 3,
                _ => 4,
            };
            (rest.get(1 + width) == Some(&b'\'')).then(|| after(2 + width))
        }
        _ => None,
    }
}

fn is_name_byte(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_' || byte >= 0x80
}

/// Whether the letter at `at` belongs to a longer name; the prefixes of `br"` and `cr"` do not count.
fn continues_a_name(bytes: &[u8], at: usize) -> bool {
    let is_name = |back: usize| at.checked_sub(back).is_some_and(|before| is_name_byte(bytes[before]));
    let is_prefix = at.checked_sub(1).is_some_and(|before| matches!(bytes[before], b'b' | b'c'));
    is_name(1) && (!is_prefix || is_name(2))
}

fn block_comment_length(rest: &[u8]) -> usize {
    let (mut depth, mut at) = (0, 0);
    while at < rest.len() {
        match &rest[at..] {
            [b'/', b'*', ..] => (depth, at) = (depth + 1, at + 2),
            [b'*', b'/', ..] => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            return at;
        }
    }
    rest.len()
}

fn quoted_length(rest: &[u8], quote: u8) -> usize {
    let mut at = 1;
    while at < rest.len() {
        match rest[at] {
            b'\\' => at += 2,
            byte if byte == quote => return at + 1,
            _ => at += 1,
        }
    }
    rest.len()
}

/// `None` for a raw name such as `r#type`.
fn raw_string_length(rest: &[u8]) -> Option<usize> {
    let hashes = rest[1..].iter().take_while(|&&byte| byte == b'#').count();
    if rest.get(1 + hashes) != Some(&b'"') {
        return None;
    }
    let mut end = vec![b'"'];
    end.resize(1 + hashes, b'#');
    let body = 2 + hashes;
    let length = rest[body..].windows(end.len()).position(|window| window == end);
    Some(length.map_or(rest.len(), |length| body + length + end.len()))
}

/// Every function that has a body, nested ones and methods included.
pub(crate) fn functions(source: &str) -> Vec<Function<'_>> {
    let code = code_only(source);
    let bytes = code.as_bytes();
    let mut found = Vec::new();
    for (at, _) in code.match_indices("fn ") {
        if at > 0 && is_name_byte(bytes[at - 1]) {
            continue;
        }
        let name_at = at + 3 + bytes[at + 3..].iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        let name_length = bytes[name_at..].iter().take_while(|&&byte| is_name_byte(byte)).count();
        let Some(end) = body_end(bytes, name_at + name_length) else {
            continue;
        };
        if name_length == 0 {
            continue;
        }
        let begin = code[..at].rfind(['{', '}', ';']).map_or(0, |before| before + 1);
        let above: String = code[begin..at].split_whitespace().collect();
        found.push(Function {
            name: &source[name_at..name_at + name_length],
            line: 1 + source[..at].matches('\n').count(),
            line_count: 1 + source[at..end].matches('\n').count(),
            is_test: ["#[test]", "::test]", "::test("].iter().any(|attribute| above.contains(attribute)),
            whole: &source[begin..end],
        });
    }
    found
}

/// The end of the body that follows a signature, or `None` when there is only a signature.
fn body_end(code: &[u8], from: usize) -> Option<usize> {
    let (mut parens, mut braces) = (0_i32, 0_i32);
    for (at, byte) in code.iter().enumerate().skip(from) {
        match byte {
            b'(' | b'[' => parens += 1,
            b')' | b']' => parens -= 1,
            b';' if parens == 0 && braces == 0 => return None,
            b'{' => braces += 1,
            b'}' => {
                braces -= 1;
                if braces <= 0 {
                    return (braces == 0).then_some(at + 1);
                }
            }
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{code_only, functions};

    #[test]
    fn comments_and_literals_are_blanked_in_place() {
        let source = "let a = \"x // \\\" y\"; // end\nlet b = 'c'; let d: &'static str = r#\"dbg!(\"1\")\"#;";
        let code = code_only(source);
        assert_eq!(code.len(), source.len());
        assert!(code.contains("let b =") && code.contains("&'static str"));
        assert!(!code.contains("end") && !code.contains("dbg!") && !code.contains('"'));
    }

    #[test]
    fn nested_comments_characters_and_byte_strings() {
        assert_eq!(code_only("a/* /* b */ c */d").replace(' ', ""), "ad");
        assert_eq!(code_only("x('\\'', '\u{b5}', br\"q\")").replace(' ', ""), "x(,,b)");
        assert_eq!(code_only("r#type").trim(), "r#type");
        // Unclosed literals end with the file rather than beyond it.
        assert_eq!(code_only("a\"\\").trim(), "a");
    }

    #[test]
    fn functions_carry_their_lines_and_their_attributes() {
        let source =
            "trait T { fn only(&self) -> [u8; 2]; }\n/// Doc.\n#[test]\nfn a() {\n  if true { }\n}\nfn b() {}\n";
        let found = functions(source);
        assert_eq!(found.iter().map(|f| f.name).collect::<Vec<_>>(), ["a", "b"]);
        assert_eq!((found[0].line, found[0].line_count), (4, 3));
        assert!(found[0].is_test && !found[1].is_test);
        assert!(found[0].whole.contains("/// Doc."));
    }

    #[test]
    fn tests_of_other_runners_are_tests() {
        let source = "#[tokio::test(flavor = \"multi_thread\")]\nasync fn a() {}\nfn b(f: fn (u8)) {}";
        let found = functions(source);
        assert!(found[0].is_test && !found[1].is_test);
        assert_eq!(found.len(), 2);
    }
}
