//! Licence expressions as crates and packages write them: `MIT OR Apache-2.0`, `(A OR B) AND C`, `A WITH B`, `A/B`.

/// Whether the expression can be satisfied using only licences that `allowed` accepts.
/// A text that is no expression is never satisfied.
pub(crate) fn is_satisfied(expression: &str, allowed: &dyn Fn(&str) -> bool) -> bool {
    // Older crates wrote a slash for OR.
    let spaced = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut reader = Reader { words: &words, at: 0, allowed };
    reader.any_of() == Some(true) && reader.at == words.len()
}

struct Reader<'a> {
    words: &'a [&'a str],
    at: usize,
    allowed: &'a dyn Fn(&str) -> bool,
}

impl Reader<'_> {
    fn takes(&mut self, word: &str) -> bool {
        let is_next = self.words.get(self.at) == Some(&word);
        self.at += usize::from(is_next);
        is_next
    }

    /// `None` when the text is not an expression.
    fn any_of(&mut self) -> Option<bool> {
        let mut satisfied = self.all_of()?;
        while self.takes("OR") {
            satisfied |= self.all_of()?;
        }
        Some(satisfied)
    }

    fn all_of(&mut self) -> Option<bool> {
        let mut satisfied = self.one()?;
        while self.takes("AND") {
            satisfied &= self.one()?;
        }
        Some(satisfied)
    }

    fn one(&mut self) -> Option<bool> {
        if self.takes("(") {
            let inner = self.any_of()?;
            return self.takes(")").then_some(inner);
        }
        let licence = *self.words.get(self.at)?;
        if matches!(licence, "OR" | "AND" | "WITH" | ")") {
            return None;
        }
        self.at += 1;
        if self.takes("WITH") {
            let exception = *self.words.get(self.at)?;
            self.at += 1;
            return Some((self.allowed)(&format!("{licence} WITH {exception}")) || (self.allowed)(licence));
        }
        Some((self.allowed)(licence))
    }
}

#[cfg(test)]
mod tests {
    use super::is_satisfied;

    fn ok(expression: &str) -> bool {
        is_satisfied(expression, &|licence| matches!(licence, "MIT" | "Apache-2.0" | "Zlib"))
    }

    #[test]
    fn one_of_several_is_enough_and_all_of_several_are_needed() {
        assert!(ok("MIT") && ok("GPL-3.0 OR MIT") && ok("GPL-3.0/MIT") && ok("Apache-2.0 WITH LLVM-exception"));
        assert!(ok("(GPL-3.0 OR MIT) AND Zlib") && ok("MIT AND Zlib OR GPL-3.0"));
        assert!(!ok("MIT AND GPL-3.0") && !ok("(MIT OR Zlib) AND GPL-3.0") && !ok("GPL-3.0"));
    }

    #[test]
    fn broken_expressions_are_refused() {
        for broken in ["", "MIT OR", "(MIT", "MIT)", "OR MIT", "MIT MIT", "MIT WITH"] {
            assert!(!ok(broken), "{broken:?}");
        }
    }
}
