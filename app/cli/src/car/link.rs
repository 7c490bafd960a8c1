//! Links to the owner's page of one car: made, listed, taken back.

use std::collections::BTreeMap;
use std::io::{self, Write};

use clap::Subcommand;
use jiff::Timestamp;
use job::ids::{CarId, Hash, PersonId};
use job::ports::OwnerLink;
use job::shop::{NewLink, Shop, USUAL_LINK_DAYS};
use serde::Serialize;

use crate::address::PublicUrl;
use crate::answer::{Answer, columns, doubt, row, say};
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Links to the owner's page of one car.
#[derive(Debug, Subcommand)]
pub(crate) enum Links {
    /// Make a link and print its address, this once.
    Make {
        /// The car.
        id: CarId,
        /// The owner it is for.
        #[arg(long, value_name = "NAME")]
        owner: String,
        /// Who makes it.
        #[arg(long, value_name = "NAME")]
        by: String,
        /// How many days it lasts, 1 to 366.
        #[arg(long, default_value_t = USUAL_LINK_DAYS)]
        days: u32,
        /// Where owners reach the program from outside; without it, this computer's own address.
        #[arg(long, value_name = "URL", env = "GUIDECOAT_PUBLIC_URL")]
        public_url: Option<PublicUrl>,
    },
    /// Every link of a car, those that ended included; never an address.
    List {
        /// The car.
        id: CarId,
    },
    /// Take a link back: from now on it leads nowhere.
    Revoke {
        /// The car.
        id: CarId,
        /// The link, as the list names it.
        link: String,
    },
}

impl Links {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let shop = everywhere.shop(Missing::Refuse).await?;
        match self {
            Self::Make { id, owner, by, days, public_url } => {
                let (owner, by) = (person(&shop, &owner).await?, person(&shop, &by).await?);
                let (token, link) = make(&shop, id, owner.id, by.id, days).await?;
                if public_url.is_none() {
                    doubt(["this address works on this computer only; say where owners reach it with --public-url"]);
                }
                let url = public_url.unwrap_or_else(PublicUrl::here);
                let address = url.of_owner(&token);
                let made = Made { car: id, link: short(link.token), owner: owner.name, address, expires: link.expires };
                say(&made, everywhere.json)
            }
            Self::List { id } => say(&list(&shop, id).await?, everywhere.json),
            Self::Revoke { id, link } => {
                let token = find(&shop, id, &link).await?;
                shop.revoke_link(id, token, Timestamp::now()).await?;
                say(&list(&shop, id).await?, everywhere.json)
            }
        }
    }
}

/// Makes a link; gives its token, which is kept nowhere else.
///
/// # Errors
/// When the shop refuses it.
pub(crate) async fn make(
    shop: &Shop,
    car: CarId,
    owner: PersonId,
    by: PersonId,
    days: u32,
) -> Result<(String, OwnerLink), Stop> {
    let token = web::token::fresh();
    let new = NewLink { token: Hash::of(token.as_bytes()), owner, by, days };
    let link = shop.make_link(car, new, Timestamp::now()).await?;
    Ok((token, link))
}

/// The name of a link in lists: the beginning of its token's hash, which leads nowhere.
fn short(token: Hash) -> String {
    token.to_string().chars().take(8).collect()
}

async fn find(shop: &Shop, car: CarId, named: &str) -> Result<Hash, Stop> {
    let links = shop.links(car).await?;
    let named = named.trim().to_ascii_lowercase();
    let fits = |link: &&OwnerLink| named.len() >= 8 && link.token.to_string().starts_with(&named);
    let mut found = links.iter().filter(fits);
    match (found.next(), found.next()) {
        (Some(one), None) => Ok(one.token),
        _ => Err(Stop::input(format!(
            "\"{named}\" names no link of this car; \"guidecoat car link list\" names them by 8 letters and digits"
        ))),
    }
}

#[derive(Debug, Serialize)]
struct Made {
    car: CarId,
    link: String,
    owner: String,
    address: String,
    expires: Timestamp,
}

impl Answer for Made {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}", self.address)?;
        let expires = self.expires.strftime("%-d %B %Y");
        writeln!(out, "For {}, until {expires}, as link {}. It is shown this once.", self.owner, self.link)
    }
}

#[derive(Debug, Serialize)]
struct Listed {
    car: CarId,
    links: Vec<One>,
}

#[derive(Debug, Serialize)]
struct One {
    link: String,
    owner: String,
    made: Timestamp,
    by: String,
    expires: Timestamp,
    state: &'static str,
}

async fn list(shop: &Shop, id: CarId) -> Result<Listed, Stop> {
    shop.car(id).await?;
    let people = shop.people().await?;
    let names: BTreeMap<PersonId, &str> = people.iter().map(|p| (p.id, p.name.as_str())).collect();
    let name = |id: &PersonId| names.get(id).map_or_else(String::new, |name| (*name).to_string());
    let now = Timestamp::now();
    let one = |link: &OwnerLink| One {
        link: short(link.token),
        owner: name(&link.person),
        made: link.made,
        by: name(&link.made_by),
        expires: link.expires,
        state: match link.revoked {
            Some(_) => "taken back",
            None if link.expires <= now => "ended",
            None => "open",
        },
    };
    Ok(Listed { car: id, links: shop.links(id).await?.iter().map(one).collect() })
}

impl Answer for Listed {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.links.is_empty() {
            return writeln!(out, "No link was made for this car yet: guidecoat car link make");
        }
        let mut rows = vec![row!["link", "for", "state", "made", "by", "ends"]];
        rows.extend(self.links.iter().map(|link| {
            let day = |at: Timestamp| at.strftime("%Y-%m-%d").to_string();
            row![link.link, link.owner, link.state, day(link.made), link.by, day(link.expires)]
        }));
        columns(out, &rows)
    }
}
