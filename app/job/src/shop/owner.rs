//! What the owner's side needs: links to one car's page, answers with exactly what was shown, and who opened what.

use std::ops::RangeInclusive;
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use super::keep::{Draft, Kept, invalid};
use super::{Shop, ShopError};
use crate::ask;
use crate::car::{Car, Entry};
use crate::ids::{CarId, EntryId, Hash, PersonId};
use crate::person::{Person, Role};
use crate::ports::{OwnerLink, Visit};
use crate::question::{Answer, AnswerWay, OwnerWrote, Question, Shown};
use crate::what::What;

/// How many days a link lasts when nothing else is asked.
pub const USUAL_LINK_DAYS: u32 = 60;
/// How many days a link may last.
pub const LINK_DAYS: RangeInclusive<u32> = 1..=366;
/// How many links of one car may be open at once.
const MOST_LINKS: usize = 20;
/// How many answers and messages one car takes from its owner within a day: the record never forgets them.
const MOST_A_DAY: usize = 40;

/// A link that somebody wants to hand out.
#[derive(Debug, Clone, Copy)]
pub struct NewLink {
    /// SHA-256 of its token; the token itself never comes here.
    pub token: Hash,
    /// The owner it is for.
    pub owner: PersonId,
    /// Who makes it.
    pub by: PersonId,
    /// How long it lasts, in days; see [`LINK_DAYS`].
    pub days: u32,
}

/// Why a link leads nowhere. No word of it says which car it was for.
#[derive(Debug, thiserror::Error)]
pub enum LinkError {
    /// Nobody made it, or it was copied in part.
    #[error("this link is not known here. See that the whole of it was copied, or ask the shop for a new one")]
    Unknown,
    /// Its time is over.
    #[error("the time of this link is over. Ask the shop for a new one")]
    Ended,
    /// The shop took it back, or whom it was made for is no longer entered as an owner.
    #[error("the shop took this link back. Ask the shop if you should have a new one")]
    TakenBack,
    /// The car could not be read.
    #[error(transparent)]
    Shop(#[from] ShopError),
}

/// Somebody who came through an owner's link.
#[derive(Debug, Clone)]
pub struct Guest {
    /// The link.
    pub link: OwnerLink,
    /// The owner it was made for.
    pub owner: Person,
    /// The only car it reaches.
    pub car: Arc<Car>,
}

/// An answer as it comes from a page, before it is known whether it can count.
#[derive(Debug, Clone)]
pub struct Reply {
    /// The name under which it is to be kept; sent twice, it is kept once.
    pub entry: EntryId,
    /// Who writes it.
    pub by: PersonId,
    /// The version of the question that was shown.
    pub question: EntryId,
    /// How many entries the record held when the page was drawn.
    pub seen: u64,
    /// The [`digest`] of what the page showed.
    pub digest: Hash,
    /// The option, or none of these.
    pub choice: Option<String>,
    /// How it came.
    pub way: AnswerWay,
    /// In the owner's own words.
    pub words: String,
    /// The answer that it changes.
    pub changes: Option<EntryId>,
}

/// Why an answer came too late to be one.
#[derive(Debug, Clone)]
pub enum Late {
    /// The question was taken back, by this entry.
    TakenBack(Box<Entry>),
    /// The question was changed, to this version.
    AskedAnew(Box<Entry>),
    /// What the page showed cannot be worked out again, so it cannot be kept beside the answer.
    NotAsShown,
}

impl Late {
    /// Why it is no answer, to stand behind the owner's words.
    fn say(&self) -> &'static str {
        match self {
            Self::TakenBack(_) => "It came after the question was taken back, so it is no answer.",
            Self::AskedAnew(_) => "It came after the question was changed, so it is no answer to what is asked now.",
            Self::NotAsShown => "The hours shown with it could not be worked out again, so it is no answer.",
        }
    }
}

/// What became of an answer.
#[derive(Debug, Clone)]
pub enum Replied {
    /// It counts.
    Kept(Kept),
    /// Another answer came first. Nothing was kept; sent again as a change of that one it counts.
    Overtaken(Box<Entry>),
    /// It came too late. What the owner chose and typed is kept as a message; what the shop typed is not.
    Late {
        /// Why.
        why: Late,
        /// The message.
        wrote: Option<Kept>,
    },
}

/// The hash of what was shown, which a page carries so that nobody can answer something else.
pub fn digest(shown: &Shown) -> Hash {
    // Plain data with text keys: it cannot fail to be written, and an empty text would match nothing.
    Hash::of(&serde_json::to_vec(shown).unwrap_or_default())
}

impl Shop {
    /// Exactly what an owner is shown beside a question of this car.
    ///
    /// # Errors
    /// When the range cannot be worked out.
    pub async fn shown(&self, car: &Car, question: &Question) -> Result<Shown, ShopError> {
        Ok(ask::beside(car, question, self.told(car).await?))
    }

    /// Makes a link to the page of one car. The token is the caller's: it is shown once and kept nowhere.
    ///
    /// # Errors
    /// When the days, the owner or the maker cannot be, or too many links are open.
    pub async fn make_link(&self, car: CarId, new: NewLink, now: Timestamp) -> Result<OwnerLink, ShopError> {
        self.car(car).await?;
        if !LINK_DAYS.contains(&new.days) {
            let right = format!("Anything from {} to {} days is taken.", LINK_DAYS.start(), LINK_DAYS.end());
            return Err(invalid("days", format!("{} days were asked for", new.days), &right));
        }
        let people = self.people().await?;
        if !people.iter().any(|p| p.id == new.owner && p.active && p.role == Role::Owner) {
            return Err(invalid(
                "owner",
                "nobody was picked who is entered as an owner",
                "Pick the owner of this car.",
            ));
        }
        if !people.iter().any(|p| p.id == new.by && p.active && p.role != Role::Owner) {
            return Err(ShopError::NoSuchPerson(new.by));
        }
        let open = self.links(car).await?.iter().filter(|l| l.revoked.is_none() && l.expires > now).count();
        if open >= MOST_LINKS {
            let say = format!("{open} links of this car are open already");
            return Err(invalid("owner", say, "Take one back first."));
        }
        let lasts = SignedDuration::from_hours(24 * i64::from(new.days));
        let expires = now.checked_add(lasts).map_err(|_| invalid("days", "that day cannot be told", "Fewer days."))?;
        let NewLink { token, owner, by, .. } = new;
        let link = OwnerLink { token, car, person: owner, made: now, made_by: by, expires, revoked: None };
        self.store.put_link(&link).await?;
        Ok(link)
    }

    /// The links of a car, the newest first, those that ended included.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn links(&self, car: CarId) -> Result<Vec<OwnerLink>, ShopError> {
        Ok(self.store.links_of(car).await?)
    }

    /// Takes a link of this car back; from `now` on it leads nowhere.
    ///
    /// # Errors
    /// When the car has no such link, or the store cannot be written.
    pub async fn revoke_link(&self, car: CarId, token: Hash, now: Timestamp) -> Result<(), ShopError> {
        match self.store.link(token).await? {
            Some(link) if link.car == car => Ok(self.store.revoke_link(token, now).await?),
            _ => Err(invalid("link", "this car has no such link", "Open its links again.")),
        }
    }

    /// Lets somebody in who holds a link.
    ///
    /// # Errors
    /// When the link is unknown, ended or was taken back, without a word about the car; or when that cannot be read.
    pub async fn open_link(&self, token: &str, now: Timestamp) -> Result<Guest, LinkError> {
        let link = self.store.link(Hash::of(token.as_bytes())).await.map_err(ShopError::from)?;
        let link = link.ok_or(LinkError::Unknown)?;
        if link.revoked.is_some_and(|at| at <= now) {
            return Err(LinkError::TakenBack);
        }
        if link.expires <= now {
            return Err(LinkError::Ended);
        }
        let people = self.people().await?;
        let owner = people.into_iter().find(|p| p.id == link.person && p.active && p.role == Role::Owner);
        let owner = owner.ok_or(LinkError::TakenBack)?;
        let car = self.car(link.car).await?;
        Ok(Guest { link, owner, car })
    }

    /// Notes that somebody opened something that leaves the shop.
    ///
    /// # Errors
    /// When the store cannot be written.
    pub async fn note_visit(&self, visit: &Visit) -> Result<(), ShopError> {
        Ok(self.store.put_visit(visit).await?)
    }

    /// Who opened what of a car, or with `None` of the whole shop, the newest first, at most `limit`.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn visits(&self, car: Option<CarId>, limit: u32) -> Result<Vec<Visit>, ShopError> {
        Ok(self.store.visits(car, limit).await?)
    }

    /// Keeps an answer with exactly what was shown, worked out again from the record as it stood then.
    ///
    /// What an owner chose and typed on a page that was overtaken by the shop is kept as a message.
    ///
    /// # Errors
    /// See [`ShopError`]. An answer that came second or too late is no error but a [`Replied`].
    pub async fn answer(&self, id: CarId, reply: &Reply, now: Timestamp) -> Result<Replied, ShopError> {
        let car = self.car(id).await?;
        let asked = car.entry_by_id(reply.question).ok_or(ShopError::NoSuchEntry)?;
        let What::Asked(question) = &asked.what else { return Err(ShopError::NoSuchEntry) };
        let draft = |what: What| Draft {
            entry: reply.entry,
            base: None,
            by: reply.by,
            noted: None,
            corrects: None,
            keep_both: false,
            what,
        };
        if reply.way == AnswerWay::Link {
            not_too_many(&car, now)?;
        }
        let shown = match reply.seen {
            seen if seen == car.count => self.shown(&car, question).await?,
            seen => self.shown(&car.at(seen), question).await?,
        };
        let why = if digest(&shown) == reply.digest {
            let answer = Answer {
                question: asked.id,
                version: asked.hash,
                choice: reply.choice.clone(),
                way: reply.way,
                words: reply.words.clone(),
                shown,
                changes: reply.changes,
            };
            match self.keep(id, &draft(What::Answered(answer)), now).await {
                Ok(kept) => return Ok(Replied::Kept(kept)),
                Err(ShopError::Overtaken(first)) => return Ok(Replied::Overtaken(first)),
                Err(ShopError::TakenBack(by)) => Late::TakenBack(by),
                Err(ShopError::AskedAnew(now)) => Late::AskedAnew(now),
                Err(e) => return Err(e),
            }
        } else {
            Late::NotAsShown
        };
        if reply.way != AnswerWay::Link {
            return Ok(Replied::Late { why, wrote: None });
        }
        let wrote = OwnerWrote {
            question: Some(asked.id),
            choice: reply.choice.clone(),
            words: too_late(question, reply, &why),
        };
        let wrote = self.keep(id, &draft(What::OwnerWrote(wrote)), now).await?;
        Ok(Replied::Late { why, wrote: Some(wrote) })
    }

    /// Keeps what the owner wrote to the shop.
    ///
    /// # Errors
    /// See [`ShopError`].
    pub async fn owner_wrote(
        &self,
        id: CarId,
        by: PersonId,
        entry: EntryId,
        wrote: OwnerWrote,
        now: Timestamp,
    ) -> Result<Kept, ShopError> {
        not_too_many(&*self.car(id).await?, now)?;
        let what = What::OwnerWrote(wrote);
        let draft = Draft { entry, base: None, by, noted: None, corrects: None, keep_both: false, what };
        self.keep(id, &draft, now).await
    }
}

/// What the owner chose and typed, and why it is no answer.
fn too_late(question: &Question, reply: &Reply, why: &Late) -> String {
    let chose = match reply.choice.as_deref() {
        None => "None of these was chosen.".to_string(),
        Some(key) => match question.option(key) {
            Some(option) => format!("Option {key} was chosen: {}.", option.title.trim_end_matches('.')),
            None => format!("\"{}\" was chosen.", key.chars().take(20).collect::<String>()),
        },
    };
    let words = match reply.words.trim() {
        "" => String::new(),
        words => format!("{words}\n\n"),
    };
    format!("{words}{chose} {}", why.say())
}

fn not_too_many(car: &Car, now: Timestamp) -> Result<(), ShopError> {
    let day = SignedDuration::from_hours(24);
    let owners = |e: &&Entry| e.by.role == Role::Owner && now.duration_since(e.at) < day;
    if car.entries().iter().rev().take(1000).filter(owners).count() < MOST_A_DAY {
        return Ok(());
    }
    let say = format!("{MOST_A_DAY} answers and messages came today already");
    Err(invalid("words", say, "Please ring the shop, or write again tomorrow."))
}
