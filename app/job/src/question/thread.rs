//! One question with all its versions, its answers, and what the owner wrote besides.

use crate::car::{Car, Entry, ZoneState};
use crate::ids::EntryId;
use crate::question::{Answer, Hours, OwnerWrote, Question};
use crate::what::What;

/// Where a question stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The owner has not seen it.
    Draft,
    /// The owner was asked, and has not answered. Silence is not consent.
    Open,
    /// The owner answered; see [`Thread::answer`].
    Answered,
    /// It was taken back.
    Withdrawn,
}

/// One question from its first draft on.
#[derive(Debug, Clone)]
pub struct Thread<'a> {
    /// Its number within the car, from 1 in the order in which they were begun.
    pub number: usize,
    /// Every version, the first one first.
    pub versions: Vec<(&'a Entry, &'a Question)>,
    /// Every answer, the first one first; none is ever taken out.
    pub answers: Vec<(&'a Entry, &'a Answer)>,
    /// What the owner wrote besides.
    pub wrote: Vec<(&'a Entry, &'a OwnerWrote)>,
}

impl<'a> Thread<'a> {
    /// The version that was written last, sent or not.
    pub fn latest(&self) -> Option<(&'a Entry, &'a Question)> {
        self.versions.last().copied()
    }

    /// The version the owner sees: the last one that was sent.
    pub fn asked(&self) -> Option<(&'a Entry, &'a Question)> {
        self.versions.iter().rev().find(|(_, question)| question.sent).copied()
    }

    /// Whether it was taken back.
    pub fn is_withdrawn(&self) -> bool {
        self.latest().is_none_or(|(entry, _)| !entry.counts())
    }

    /// The answer that stands: the last one to the version the owner sees.
    pub fn answer(&self) -> Option<(&'a Entry, &'a Answer)> {
        let (asked, _) = self.asked()?;
        self.answers.iter().rev().find(|(_, answer)| answer.version == asked.hash).copied()
    }

    /// Where it stands.
    pub fn standing(&self) -> Standing {
        match (self.is_withdrawn(), self.asked(), self.answer()) {
            (true, _, _) => Standing::Withdrawn,
            (false, None, _) => Standing::Draft,
            (false, Some(_), None) => Standing::Open,
            (false, Some(_), Some(_)) => Standing::Answered,
        }
    }

    /// Whether the work that it names waits: until an option is chosen, and as long as the owner wants none.
    pub fn blocks(&self) -> bool {
        !self.is_withdrawn() && self.answer().is_none_or(|(_, answer)| answer.choice.is_none())
    }

    /// Whether its last version is about this zone.
    pub fn is_about(&self, zone: &str) -> bool {
        self.latest().is_some_and(|(_, question)| question.zones.iter().any(|id| id == zone))
    }

    /// Whether this version, or one before or after it, is the entry.
    pub fn holds(&self, id: EntryId) -> bool {
        self.versions.iter().any(|(entry, _)| entry.id == id)
    }
}

impl Car {
    /// Every question, in the order in which they were begun.
    pub fn threads(&self) -> Vec<Thread<'_>> {
        let mut threads: Vec<Thread<'_>> = Vec::new();
        for entry in self.entries() {
            match &entry.what {
                What::Asked(question) => {
                    let before = entry.corrects.and_then(|seq| self.entry(seq)).map(|old| old.id);
                    match before.and_then(|id| threads.iter_mut().find(|thread| thread.holds(id))) {
                        Some(thread) => thread.versions.push((entry, question)),
                        None => threads.push(Thread {
                            number: threads.len() + 1,
                            versions: vec![(entry, question)],
                            answers: Vec::new(),
                            wrote: Vec::new(),
                        }),
                    }
                }
                What::Answered(answer) => {
                    if let Some(thread) = threads.iter_mut().find(|thread| thread.holds(answer.question)) {
                        thread.answers.push((entry, answer));
                    }
                }
                What::OwnerWrote(wrote) => {
                    if let Some(thread) =
                        wrote.question.and_then(|id| threads.iter_mut().find(|thread| thread.holds(id)))
                    {
                        thread.wrote.push((entry, wrote));
                    }
                }
                _ => {}
            }
        }
        threads
    }

    /// The question that has this entry as one of its versions.
    pub fn thread_of(&self, id: EntryId) -> Option<Thread<'_>> {
        self.threads().into_iter().find(|thread| thread.holds(id))
    }

    /// What the owner decided for a zone: the hours of the option that stands, on the first zone of its
    /// question that is not made good yet; the others are contained in them and come back as no hours.
    pub fn decided(&self, zone: &str) -> Option<Hours> {
        let decided = |thread: &Thread<'_>| {
            let (_, answer) = thread.answer().filter(|_| !thread.is_withdrawn())?;
            let zones = &answer.shown.question.zones;
            let hours = zones.contains(&zone.to_owned()).then_some(answer.chosen()?.hours)?;
            let first = zones.iter().find(|id| self.state(id) != ZoneState::MadeGood);
            Some(if first.is_some_and(|id| id == zone) { hours } else { Hours { low: 0.0, likely: 0.0, high: 0.0 } })
        };
        self.threads().iter().rev().find_map(decided)
    }

    /// The question about a zone whose answer its work waits for.
    pub fn waits_for(&self, zone: &str) -> Option<Thread<'_>> {
        self.threads().into_iter().find(|thread| thread.blocks() && thread.is_about(zone))
    }
}
