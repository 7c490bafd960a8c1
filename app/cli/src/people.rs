//! Who works here.

use std::io::{self, Read, Write};

use clap::Subcommand;
use job::ids::PersonId;
use job::person::{Person, Role};
use serde::Serialize;
use web::passphrase;

use crate::answer::{Answer, columns, row, say};
use crate::key::keyed;
use crate::shop::{Everywhere, Missing, person, wait};
use crate::stop::Stop;

/// Who works here.
#[derive(Debug, Subcommand)]
pub(crate) enum People {
    /// Enter somebody.
    Add {
        /// The name as it should stand beside what they write.
        name: String,
        /// What they do.
        #[arg(long, value_parser = keyed!(Role))]
        role: Role,
        /// Read a passphrase from standard input, for signing in.
        #[arg(long)]
        passphrase_stdin: bool,
    },
    /// Everybody, those who have left included.
    List,
    /// Give somebody a new passphrase, read from standard input.
    Passphrase {
        /// The name.
        name: String,
    },
}

impl People {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        wait(async {
            match self {
                Self::Add { name, role, passphrase_stdin } => {
                    let passphrase = if passphrase_stdin { Some(read_passphrase()?) } else { None };
                    let shop = everywhere.shop(Missing::Make).await?;
                    let name = name.trim().to_string();
                    let person = Person { id: PersonId::fresh(), name, role, passphrase, active: true };
                    shop.put_person(&person).await?;
                    say(&Listed::from(&person), everywhere.json)
                }
                Self::List => {
                    let people = everywhere.shop(Missing::Refuse).await?.people().await?;
                    say(&Everybody { people: people.iter().map(Listed::from).collect() }, everywhere.json)
                }
                Self::Passphrase { name } => {
                    let passphrase = Some(read_passphrase()?);
                    let shop = everywhere.shop(Missing::Refuse).await?;
                    let person = Person { passphrase, ..person(&shop, &name).await? };
                    shop.put_person(&person).await?;
                    say(&Listed::from(&person), everywhere.json)
                }
            }
        })
    }
}

/// The first line of standard input, hashed.
fn read_passphrase() -> Result<String, Stop> {
    let mut typed = String::new();
    // Room for the longest passphrase in four-byte characters and a line end; more is refused below.
    let most = passphrase::LONGEST as u64 * 4 + 3;
    let read = io::stdin().lock().take(most).read_to_string(&mut typed);
    read.map_err(|e| Stop::input(format!("standard input: the passphrase cannot be read ({e})")))?;
    let line = typed.lines().next().unwrap_or_default();
    passphrase::hash(line).map_err(|e| Stop::input(format!("standard input: {e}")))
}

#[derive(Debug, Serialize)]
struct Listed {
    id: PersonId,
    name: String,
    role: &'static str,
    passphrase: bool,
    active: bool,
}

impl From<&Person> for Listed {
    fn from(p: &Person) -> Self {
        let (name, role) = (p.name.clone(), p.role.key());
        Self { id: p.id, name, role, passphrase: p.passphrase.is_some(), active: p.active }
    }
}

impl Listed {
    fn cells(&self) -> Vec<String> {
        let signs_in = if self.passphrase { "with a passphrase" } else { "no passphrase" };
        row![self.name, self.role, signs_in, if self.active { "here" } else { "has left" }, self.id]
    }
}

const HEADING: [&str; 5] = ["name", "role", "signs in", "works", "id"];

impl Answer for Listed {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[HEADING.map(String::from).to_vec(), self.cells()])
    }
}

#[derive(Debug, Serialize)]
struct Everybody {
    people: Vec<Listed>,
}

impl Answer for Everybody {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.people.is_empty() {
            return writeln!(out, "Nobody is entered yet: guidecoat people add NAME --role lead");
        }
        let rows = std::iter::once(HEADING.map(String::from).to_vec()).chain(self.people.iter().map(Listed::cells));
        columns(out, &rows.collect::<Vec<_>>())
    }
}
