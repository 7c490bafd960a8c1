//! Looks at one zone that cannot both be right.

use std::collections::BTreeMap;

use super::Contradiction;
use super::shell::Shell;
use crate::car::Car;
use crate::what::{Seen, Severity, What};

/// What one entry says of a zone, as far as it settles anything.
#[derive(Clone, Copy, PartialEq)]
enum Says {
    Clear,
    Bad,
}

/// Zones of which the last two entries that settle anything say the opposite. Bad and then made good is no
/// contradiction; pits settle nothing.
pub(super) fn find(shell: &Shell<'_>, car: &Car) -> Vec<Contradiction> {
    let mut last: BTreeMap<usize, (Says, u64, String)> = BTreeMap::new();
    let mut found: BTreeMap<usize, Contradiction> = BTreeMap::new();
    for (entry, what) in car.told(Some) {
        let Some(place) = what.zone().and_then(|zone| shell.find(zone)) else { continue };
        let severe = |severity: Severity| matches!(severity, Severity::Thin | Severity::Holed);
        let (says, words) = match what {
            What::Looked(look) => match look.seen {
                Seen::Clear => (Says::Clear, format!("{}: clear", look.how.words().to_lowercase())),
                Seen::Bad(severity) if severe(severity) => {
                    (Says::Bad, format!("{}: {}", look.how.words().to_lowercase(), severity.words()))
                }
                _ => continue,
            },
            What::Opened(opened) => match opened.found {
                None => (Says::Clear, "opened: sound".to_owned()),
                Some(severity) if severe(severity) => (Says::Bad, format!("opened: {}", severity.words())),
                Some(_) => continue,
            },
            What::MadeGood(_) => {
                last.remove(&place);
                found.remove(&place);
                continue;
            }
            _ => continue,
        };
        found.remove(&place);
        if let (Some((before, earlier, told)), Some(slot)) = (last.get(&place), shell.slots.get(place))
            && *before != says
        {
            let say = format!("entry {earlier}: {told}; entry {}: {words}", entry.seq);
            found.insert(place, Contradiction { instance: slot.instance, earlier: *earlier, later: entry.seq, say });
        }
        last.insert(place, (says, entry.seq, words));
    }
    found.into_values().collect()
}
