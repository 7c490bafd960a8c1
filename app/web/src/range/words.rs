//! Chances and shares in words.

/// A chance in words that claim no more than is known of it.
pub(crate) fn in_words(chance: f64) -> &'static str {
    const WORDS: [(f64, &str); 12] = [
        (0.05, "About one chance in twenty"),
        (0.1, "About one chance in ten"),
        (0.2, "About one chance in five"),
        (0.25, "About one chance in four"),
        (1.0 / 3.0, "About one chance in three"),
        (0.4, "About two chances in five"),
        (0.5, "About an even chance"),
        (0.6, "About three chances in five"),
        (2.0 / 3.0, "About two chances in three"),
        (0.75, "About three chances in four"),
        (0.8, "About four chances in five"),
        (0.9, "About nine chances in ten"),
    ];
    if chance < 0.045 {
        return "Less than one chance in twenty";
    }
    if chance > 0.91 {
        return "More than nine chances in ten";
    }
    nearest(&WORDS, chance)
}

/// A share in words.
pub(crate) fn part(share: f64) -> &'static str {
    const WORDS: [(f64, &str); 13] = [
        (0.01, "about a hundredth"),
        (0.02, "about a fiftieth"),
        (1.0 / 30.0, "about a thirtieth"),
        (0.05, "about a twentieth"),
        (0.1, "about a tenth"),
        (0.2, "about a fifth"),
        (0.25, "about a quarter"),
        (1.0 / 3.0, "about a third"),
        (0.4, "about two fifths"),
        (0.5, "about half"),
        (2.0 / 3.0, "about two thirds"),
        (0.75, "about three quarters"),
        (0.9, "about nine tenths"),
    ];
    match share {
        s if s < 0.0075 => "less than a hundredth",
        s if s > 0.95 => "nearly all",
        s => nearest(&WORDS, s),
    }
}

/// How much more or less something takes than it should, by the share it is off: "about a fifth more".
pub(crate) fn more_or_less(off: f64) -> String {
    match off {
        off if off > 0.9 => format!("{:.1} times as much", 1.0 + off),
        off if off > 0.03 => format!("{} more", part(off)),
        off if off < -0.03 => format!("{} less", part(-off)),
        _ => "the same".into(),
    }
}

fn nearest(words: &[(f64, &'static str)], value: f64) -> &'static str {
    let off = |at: f64| (at - value).abs();
    let best = words.iter().reduce(|best, one| if off(one.0) < off(best.0) { one } else { best });
    best.map_or("", |(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_and_never_written_as_percent() {
        assert_eq!(in_words(0.34), "About one chance in three");
        assert_eq!(in_words(0.01), "Less than one chance in twenty");
        assert_eq!(in_words(0.99), "More than nine chances in ten");
        let said = [0.0, 0.2, -0.5, 1.4].map(more_or_less);
        assert_eq!(said, ["the same", "about a fifth more", "about half less", "2.4 times as much"]);
        assert_eq!((part(0.34), part(0.01), part(1.0)), ("about a third", "about a hundredth", "nearly all"));
        for percent in 0..=100 {
            let p = f64::from(percent) / 100.0;
            assert!(!in_words(p).is_empty() && !part(p).is_empty(), "{percent}");
        }
    }
}
