//! Troubles besides rust: earlier impacts and bad repairs, each with a low chance of its own.

use super::circumstances::acting;
use super::evidence::{Facts, Said};
use super::odds::{one_of_each_group, say_clue};
use super::shell::{Shell, Slot};
use super::words::tenths;
use super::{Chance, Likelihood, OutlookError, Reason};
use crate::body::Instance;
use crate::catalogue::ConditionKind;

/// An impact or a bad repair of which a sign was seen. It does not move the chance of rust.
#[derive(Debug, Clone, PartialEq)]
pub struct Trouble {
    /// Where.
    pub instance: &'static Instance,
    /// What kind.
    pub condition: ConditionKind,
    /// The trouble in words, such as "front leg bent".
    pub say: String,
    /// The chance of it.
    pub chance: Chance,
    /// The chance in words.
    pub likelihood: Likelihood,
    /// Why, the chance before looking first.
    pub reasons: Vec<Reason>,
}

/// The troubles of one zone of which a sign was seen, one of each kind.
pub(super) fn find(shell: &Shell<'_>, slot: &Slot<'_>, facts: &Facts<'_>) -> Result<Vec<Trouble>, OutlookError> {
    let own: Vec<Said<'_>> = facts.said.iter().filter(|said| said.clue.prior_p.is_some()).copied().collect();
    let mut kinds: Vec<ConditionKind> = Vec::new();
    for said in own.iter().filter(|said| said.there) {
        if !kinds.contains(&said.clue.condition) {
            kinds.push(said.clue.condition);
        }
    }
    let of = |kind| own.iter().filter(|said| said.clue.condition == kind).copied().collect::<Vec<_>>();
    kinds.into_iter().filter_map(|kind| trouble(shell, slot, &of(kind)).transpose()).collect()
}

fn trouble(shell: &Shell<'_>, slot: &Slot<'_>, said: &[Said<'_>]) -> Result<Option<Trouble>, OutlookError> {
    let seen = said.iter().filter(|said| said.there);
    let Some(first) = seen.reduce(|best, one| if one.ratio() > best.ratio() { one } else { best }) else {
        return Ok(None);
    };
    let Some(prior) = first.clue.prior_p else { return Ok(None) };
    // Rows held to named zones speak of rust there, so only those of the whole profile act here.
    let factors = shell.circumstances.factors(&acting(shell.catalogue, "", &first.clue.profile));
    let counted = one_of_each_group(said);
    let ratios: Vec<f64> = factors.iter().map(|f| f.ratio).chain(counted.iter().map(Said::ratio)).collect();
    let chance = forecast::odds::chance(prior, &ratios)
        .map_err(|why| OutlookError::Odds { zone: slot.instance.id.clone(), why })?;
    let base = Reason { say: format!("before anybody looked: {}", tenths(prior)), ratio: 1.0, entry: None };
    let told = factors.into_iter().map(|f| Reason { say: f.say, ratio: f.ratio, entry: None });
    let signs = counted.iter().map(|s| Reason { say: say_clue(s), ratio: s.ratio(), entry: Some(s.entry) });
    Ok(Some(Trouble {
        instance: slot.instance,
        condition: first.clue.condition,
        say: first.clue.hidden_condition.clone(),
        chance,
        likelihood: Likelihood::of(&chance),
        reasons: std::iter::once(base).chain(told).chain(signs).collect(),
    }))
}
