//! What would follow if a look were taken and said so.

use super::evidence::Facts;
use super::hidden::{Hidden, Told};
use super::movement::mean_h;
use super::next::{self, One};
use super::range::decided;
use super::shell::Shell;
use super::{Chance, Known, NextLook, OutlookError, last_day};
use crate::body::Instance;
use crate::car::Car;
use crate::catalogue::Catalogue;

/// How many zones are told of one answer.
const MOST_TOLD: usize = 8;
/// A zone that the answer does not reach is told when its chance moves by this much.
const MOVES: f64 = 0.03;

/// A look and what would follow from its answers.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// The look.
    pub look: NextLook,
    /// Every zone it reaches is seen clear.
    pub clear: Case,
    /// The likeliest of the zones it reaches is seen thin or holed; the others are not spoken of.
    pub bad: Case,
}

/// One answer and what would follow from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The zones that move, those reached first and then those that move most.
    pub zones: Vec<Moves>,
    /// Mean hours of the metal that is only a chance or needed, before and after.
    pub mean_h: (f64, f64),
    /// The look that would be worth most then, in words.
    pub next: Option<String>,
}

/// A zone whose chance would move.
#[derive(Debug, Clone, PartialEq)]
pub struct Moves {
    /// The zone.
    pub instance: &'static Instance,
    /// Its chance now.
    pub before: Chance,
    /// Its chance then.
    pub after: Chance,
    /// Whether the look reaches it.
    pub reached: bool,
}

/// What would follow from the look of this [key](NextLook::key); `None` where no such look would tell anything.
///
/// Fails as [`outlook`](super::outlook) does.
pub fn what_if(car: &Car, catalogue: &Catalogue, key: &str) -> Result<Option<WhatIf>, OutlookError> {
    let shell = Shell::new(catalogue, &car.details, last_day(car))?;
    let facts = Facts::gather(&shell, car);
    let told = Told::of(&shell, &facts);
    let mut hidden = Hidden::of(&shell)?;
    let decided = decided(car);
    let Some(One { look, slots: reached }) = next::one(&shell, &facts, &mut hidden, &told, &decided, key)? else {
        return Ok(None);
    };
    let before = hidden.chances(&told)?;
    let entry = car.count + 1;
    let (mut all_clear, mut one_bad) = (facts.clone(), facts.clone());
    for slot in &reached {
        all_clear[*slot].suppose_clear(look.how, entry);
    }
    let likeliest = reached.iter().copied().max_by(|a, b| at(&before, *a).total_cmp(&at(&before, *b)));
    if let Some(slot) = likeliest {
        one_bad[slot].suppose_bad(entry);
    }
    // The record would be read like that, were the look kept next.
    let mut case = |then: Vec<Facts<'_>>| -> Result<Case, OutlookError> {
        let told = Told::of(&shell, &then);
        let after = hidden.chances(&told)?;
        let looks = next::looks(&shell, &then, &mut hidden, &told, &decided)?.0;
        let next = looks.into_iter().find(|next| next.key != look.key && next.worth_h > 0.0).map(|next| next.say);
        let mean_h = (mean_h(&shell, &facts, &before, &decided), mean_h(&shell, &then, &after, &decided));
        Ok(Case { zones: moves(&shell, &facts, &reached, &before, &after), mean_h, next })
    };
    let (clear, bad) = (case(all_clear)?, case(one_bad)?);
    Ok(Some(WhatIf { look, clear, bad }))
}

fn at(chances: &[f64], slot: usize) -> f64 {
    chances.get(slot).copied().unwrap_or_default()
}

fn moves(shell: &Shell<'_>, facts: &[Facts<'_>], reached: &[usize], before: &[f64], after: &[f64]) -> Vec<Moves> {
    let by = |slot: usize| (at(after, slot) - at(before, slot)).abs();
    let mut slots: Vec<usize> = (0..shell.slots.len())
        .filter(|slot| facts.get(*slot).is_some_and(|fact| fact.known == Known::NotKnown))
        .filter(|slot| reached.contains(slot) || by(*slot) >= MOVES)
        .collect();
    slots.sort_by(|a, b| reached.contains(b).cmp(&reached.contains(a)).then(by(*b).total_cmp(&by(*a))));
    slots.truncate(MOST_TOLD);
    let tell = |slot: &usize| {
        Some(Moves {
            instance: shell.slots.get(*slot)?.instance,
            before: Chance::around(at(before, *slot)),
            after: Chance::around(at(after, *slot)),
            reached: reached.contains(slot),
        })
    };
    slots.iter().filter_map(tell).collect()
}
