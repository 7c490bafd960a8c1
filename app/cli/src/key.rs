//! Words of the trade's closed lists as they are typed on the command line.

/// A parser for one of `job`'s closed lists, which names every key when it refuses one.
macro_rules! keyed {
    ($list:ty) => {{
        use clap::builder::TypedValueParser as _;
        let keys = <$list>::ALL.iter().map(|v| clap::builder::PossibleValue::new(v.key()).help(v.words()));
        clap::builder::PossibleValuesParser::new(keys)
            .try_map(|key| <$list>::from_key(&key).ok_or_else(|| format!("\"{key}\" is not known")))
    }};
}
pub(crate) use keyed;
