//! What must hold between the rows and files of a catalogue.

use std::collections::{BTreeMap, BTreeSet};

use super::clue::Clue;
use super::line::{Item, Listed};
use super::look::WayOfLooking;
use super::modifier::Modifier;
use super::operation::Operation;
use super::path::WetPath;
use super::way_in::WayIn;
use super::zone::Zone;
use crate::table::TableError;

/// Neighbours exist, name each other, and are not the zone itself.
pub(super) fn neighbours(zones: &Listed<Zone>) -> Result<(), TableError> {
    for at in zones.iter() {
        let zone = &at.item;
        for id in &zone.neighbours {
            let refuse = |wanted: String| zones.refuse(at.row, "neighbours", id, wanted);
            let Some(other) = zones.get(id) else {
                return Err(refuse(format!("a zone_id of {}", zones.file)));
            };
            if *id == zone.id {
                return Err(refuse("a zone other than itself".into()));
            }
            if !other.item.neighbours.contains(&zone.id) {
                return Err(refuse(format!(
                    "a zone that names {} as its neighbour too (row {} does not)",
                    zone.id, other.row
                )));
            }
        }
    }
    Ok(())
}

/// Profiles of zones exist.
pub(super) fn profiles(zones: &Listed<Zone>, modifiers: &Listed<Modifier>) -> Result<(), TableError> {
    let known = profiles_of(modifiers);
    match zones.iter().find(|at| !known.contains(at.item.profile.as_str())) {
        None => Ok(()),
        Some(at) => {
            let wanted = format!("a profile of {}", modifiers.file);
            Err(zones.refuse(at.row, "profile", &at.item.profile, wanted))
        }
    }
}

fn profiles_of(modifiers: &Listed<Modifier>) -> BTreeSet<&str> {
    modifiers.iter().map(|at| at.item.profile.as_str()).collect()
}

/// Zones that a way of looking is held to exist.
pub(super) fn looks(looks: &Listed<WayOfLooking>, zones: &Listed<Zone>) -> Result<(), TableError> {
    for at in looks.iter() {
        if let Some(id) = at.item.zones.iter().find(|id| zones.get(id).is_none()) {
            return Err(looks.refuse(at.row, "zones", id, format!("a zone_id of {}", zones.file)));
        }
    }
    Ok(())
}

/// Zones of wet paths exist and lie on two paths at most, and there are no more paths than a network can hold.
pub(super) fn paths(paths: &Listed<WetPath>, zones: &Listed<Zone>) -> Result<(), TableError> {
    let mut on: BTreeMap<&str, usize> = BTreeMap::new();
    for (count, at) in paths.iter().enumerate() {
        if count == MOST_PATHS {
            return Err(paths.refuse(at.row, "path_id", &at.item.id, format!("{MOST_PATHS} paths at most")));
        }
        for id in &at.item.zones {
            if zones.get(id).is_none() {
                return Err(paths.refuse(at.row, "zones", id, format!("a zone_id of {}", zones.file)));
            }
            let of_zone = on.entry(id).or_default();
            *of_zone += 1;
            if *of_zone > 2 {
                return Err(paths.refuse(at.row, "zones", id, "a zone that lies on two paths at most"));
            }
        }
    }
    Ok(())
}

/// Zones of ways in exist, and there are no more ways than can be valued.
pub(super) fn ways_in(ways: &Listed<WayIn>, zones: &Listed<Zone>) -> Result<(), TableError> {
    for (count, at) in ways.iter().enumerate() {
        if count == MOST_WAYS_IN {
            return Err(ways.refuse(at.row, "way_id", &at.item.id, format!("{MOST_WAYS_IN} ways in at most")));
        }
        if let Some(id) = at.item.zones.iter().find(|id| zones.get(id).is_none()) {
            return Err(ways.refuse(at.row, "zones", id, format!("a zone_id of {}", zones.file)));
        }
    }
    Ok(())
}

/// Every operation that a file names exists.
pub(super) fn known_operations<T>(
    rows: &Listed<T>,
    names: impl Fn(&T) -> &str,
    operations: &Listed<Operation>,
) -> Result<(), TableError> {
    match rows.iter().find(|at| operations.get(names(&at.item)).is_none()) {
        None => Ok(()),
        Some(at) => {
            let wanted = format!("an op_id of {}", operations.file);
            Err(rows.refuse(at.row, "op_id", names(&at.item), wanted))
        }
    }
}

/// The most wet paths: each is a variable for each side that its zones share.
const MOST_PATHS: usize = 20;
/// The most ways in: each is valued for each side, whenever somebody asks where to look next.
const MOST_WAYS_IN: usize = 200;

/// Every key of a closed list has its row.
pub(super) fn complete<T: Item>(
    list: &Listed<T>,
    mut keys: impl Iterator<Item = &'static str>,
) -> Result<(), TableError> {
    let ids: Vec<&str> = list.iter().map(|at| at.item.id()).collect();
    let Some(missing) = keys.find(|key| !ids.contains(key)) else { return Ok(()) };
    let column = T::COLUMNS.first().copied().unwrap_or_default();
    let last = list.iter().map(|at| at.row).max().unwrap_or_default();
    Err(list.refuse(last + 1, column, "", format!("a row for {missing}")))
}

/// Zones and profiles of clues exist, and rows of one observation say alike how it is looked for.
pub(super) fn clues(
    clues: &Listed<Clue>,
    zones: &Listed<Zone>,
    modifiers: &Listed<Modifier>,
) -> Result<(), TableError> {
    let profiles = profiles_of(modifiers);
    let mut ways: BTreeMap<(&str, &str), (&str, usize)> = BTreeMap::new();
    for at in clues.iter() {
        let clue = &at.item;
        let named = std::iter::once(("target_zone", &clue.target_zone))
            .chain(clue.check_next.iter().map(|id| ("check_next", id)));
        for (column, id) in named {
            if zones.get(id).is_none() {
                let wanted = format!("a zone_id of {}", zones.file);
                return Err(clues.refuse(at.row, column, id, wanted));
            }
        }
        if !profiles.contains(clue.profile.as_str()) {
            let wanted = format!("a profile of {}", modifiers.file);
            return Err(clues.refuse(at.row, "profile", &clue.profile, wanted));
        }
        let (how, first) = *ways.entry((&clue.evidence_group, &clue.clue)).or_insert((&clue.how, at.row));
        if how != clue.how {
            let wanted = format!("the words of row {first}, which is the same observation");
            return Err(clues.refuse(at.row, "how", &clue.how, wanted));
        }
    }
    Ok(())
}

/// Zones that modifiers are held to exist, and no circumstance acts twice on one profile.
pub(super) fn modifiers(modifiers: &Listed<Modifier>, zones: &Listed<Zone>) -> Result<(), TableError> {
    let mut first: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for at in modifiers.iter() {
        let modifier = &at.item;
        for id in &modifier.zones {
            if zones.get(id).is_none() {
                let wanted = format!("a zone_id of {}", zones.file);
                return Err(modifiers.refuse(at.row, "zones", id, wanted));
            }
        }
        if let Some(row) = first.insert((&modifier.profile, &modifier.factor), at.row) {
            let wanted = format!("a factor that row {row} has not given for this profile");
            return Err(modifiers.refuse(at.row, "factor", &modifier.factor, wanted));
        }
    }
    Ok(())
}

/// Operations that others wait for exist, and none waits for itself, however far round.
pub(super) fn operations(operations: &Listed<Operation>) -> Result<(), TableError> {
    for at in operations.iter() {
        for id in at.item.after.iter().flatten() {
            if operations.get(id).is_none() {
                let wanted = format!("an op_id of {}", operations.file);
                return Err(operations.refuse(at.row, "after", id, wanted));
            }
        }
    }
    let Some(ring) = ring(operations) else {
        return Ok(());
    };
    let last = ring.first().copied().unwrap_or_default();
    let row = operations.get(last).map_or(0, |at| at.row);
    let told = ring.iter().rev().copied().collect::<Vec<_>>().join(" before ");
    let wanted = format!("an order without a ring (now {last} before {told})");
    let value = operations.get(last).map_or_else(String::new, |at| {
        at.item.after.iter().map(|choice| choice.join("|")).collect::<Vec<_>>().join(" ")
    });
    Err(operations.refuse(row, "after", &value, wanted))
}

/// Operations each of which waits for the next and the last for the first, if there are any.
fn ring(operations: &Listed<Operation>) -> Option<Vec<&str>> {
    let mut stuck: BTreeSet<&str> = operations.iter().map(|at| at.item.id.as_str()).collect();
    // Takes away whatever waits for nothing that is left, until only rings and their followers are.
    loop {
        let free: Vec<&str> = stuck.iter().copied().filter(|id| waits_for(operations, id, &stuck).is_none()).collect();
        if free.is_empty() {
            break;
        }
        for id in free {
            stuck.remove(id);
        }
    }
    let mut walk = vec![*stuck.first()?];
    while let Some(next) = waits_for(operations, walk.last()?, &stuck) {
        if let Some(start) = walk.iter().position(|id| *id == next) {
            return Some(walk.split_off(start));
        }
        walk.push(next);
    }
    None
}

/// One of `left` that the operation waits for.
fn waits_for<'a>(operations: &Listed<Operation>, id: &str, left: &BTreeSet<&'a str>) -> Option<&'a str> {
    let before = operations.get(id)?.item.after.iter().flatten();
    before.into_iter().find_map(|id| left.get(id.as_str()).copied())
}
