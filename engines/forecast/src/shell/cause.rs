//! Causes: how often they are on, one by one and together.

use std::collections::BTreeMap;

use super::{Cause, ShellError, within};
use crate::network::Table;

/// The table of a cause; fails on a number outside its range and on a wider cause that does not come before it.
pub(super) fn table(number: usize, cause: &Cause) -> Result<Table, ShellError> {
    let of = || format!("cause {number}");
    within("how far it follows", of, cause.follows, 0.0, 1.0)?;
    within("how often it is on", of, cause.on, 0.0, 1.0)?;
    let own = [1.0 - cause.on, cause.on];
    let Some(wider) = cause.wider else { return Ok(Table { parents: vec![], rows: own.to_vec() }) };
    if wider >= number {
        return Err(ShellError::NoSuch { of: of(), what: "cause", number: wider });
    }
    let at = |state: usize, wider: usize| {
        (1.0 - cause.follows) * own[state] + if state == wider { cause.follows } else { 0.0 }
    };
    Ok(Table { parents: vec![wider], rows: vec![at(0, 0), at(1, 0), at(0, 1), at(1, 1)] })
}

/// How often each combination of these causes off and on is met, the last of them fastest: causes that follow the
/// same wider one are on together more often than chance alone would have it.
pub(super) fn together(causes: &[Cause], of: &[usize]) -> Vec<f64> {
    (0..1_usize << of.len()).map(|combination| met(causes, of, combination)).collect()
}

fn met(causes: &[Cause], of: &[usize], combination: usize) -> f64 {
    // Of each cause, what is below it says about it, off and on.
    let mut said: BTreeMap<usize, [f64; 2]> = BTreeMap::new();
    for (at, number) in of.iter().enumerate() {
        let is_on = combination >> (of.len() - 1 - at) & 1 == 1;
        said.insert(*number, if is_on { [0.0, 1.0] } else { [1.0, 0.0] });
    }
    let mut all = 1.0;
    // The narrower come after the wider, so that all has been said of a cause when its turn comes.
    while let Some((number, likelihood)) = said.pop_last() {
        let Some(cause) = causes.get(number) else { continue };
        let by_itself = (1.0 - cause.on) * likelihood[0] + cause.on * likelihood[1];
        let Some(wider) = cause.wider else {
            all *= by_itself;
            continue;
        };
        for (weight, followed) in said.entry(wider).or_insert([1.0; 2]).iter_mut().zip(likelihood) {
            *weight *= (1.0 - cause.follows) * by_itself + cause.follows * followed;
        }
    }
    all
}
