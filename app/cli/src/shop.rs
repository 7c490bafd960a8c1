//! Where the shop is: its database, its catalogue, its time zone.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use jiff::tz::TimeZone;
use job::catalogue::Catalogue;
use job::person::Person;
use job::shop::Shop;
use store::Database;

use crate::answer::doubt;
use crate::file;
use crate::stop::Stop;

/// What every command understands, anywhere on the line.
#[derive(Debug, Args)]
pub(crate) struct Everywhere {
    /// Print one JSON value instead of a table.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// The shop's database: sqlite:PATH or postgres://...
    #[arg(
        long,
        global = true,
        value_name = "URL",
        env = "GUIDECOAT_DATABASE",
        hide_env_values = true,
        default_value = "sqlite:guidecoat.sqlite"
    )]
    pub(crate) database: String,
    /// A folder with the shop's own catalogue files; each replaces the starting guesses of that name.
    #[arg(long, global = true, value_name = "DIR", env = "GUIDECOAT_CATALOGUE")]
    pub(crate) catalogue: Option<PathBuf>,
    /// The time zone in which times are shown, such as Europe/Dublin; without it, this computer's own.
    #[arg(long, global = true, value_name = "NAME", env = "GUIDECOAT_TIMEZONE")]
    pub(crate) timezone: Option<String>,
}

/// Whether a database that is not there is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Missing {
    /// Made, empty.
    Make,
    /// Refused: the command would only find nothing in it.
    Refuse,
}

impl Everywhere {
    /// Opens the shop.
    ///
    /// # Errors
    /// When the database or the catalogue cannot be opened.
    pub(crate) async fn shop(&self, missing: Missing) -> Result<Shop, Stop> {
        self.shop_at(&self.database, missing).await
    }

    /// Opens a shop over another database.
    ///
    /// # Errors
    /// As [`Everywhere::shop`].
    pub(crate) async fn shop_at(&self, database: &str, missing: Missing) -> Result<Shop, Stop> {
        let catalogue = self.catalogue()?;
        if let Some(path) = database.strip_prefix("sqlite:")
            && missing == Missing::Refuse
            && !Path::new(path.strip_prefix("//").unwrap_or(path)).exists()
        {
            return Err(Stop::failed(format!("there is no database {path}; name the shop's own with --database")));
        }
        let database = Database::open(database).await?;
        Ok(Shop::new(Arc::new(database), catalogue))
    }

    /// The catalogue: the starting guesses, with the shop's own files in their place.
    ///
    /// # Errors
    /// When a file cannot be read or does not hold together.
    pub(crate) fn catalogue(&self) -> Result<Catalogue, Stop> {
        let Some(folder) = &self.catalogue else { return Ok(Catalogue::starting_guesses()?) };
        let refuse = |e: std::io::Error| Stop::input(format!("{}: cannot be read ({e})", file::name(folder)));
        let mut files = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(refuse)? {
            let path = entry.map_err(refuse)?.path();
            if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
                let last = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
                files.push((last, file::read(&path)?));
            }
        }
        files.sort();
        let files: Vec<(&str, &[u8])> = files.iter().map(|(n, b)| (n.as_str(), b.as_slice())).collect();
        let catalogue =
            Catalogue::with_overrides(&files).map_err(|e| Stop::input(format!("{}: {e}", file::name(folder))))?;
        doubt(catalogue.warnings());
        Ok(catalogue)
    }

    /// The zone in which times are shown.
    ///
    /// # Errors
    /// When no zone has the name given.
    pub(crate) fn zone(&self) -> Result<TimeZone, Stop> {
        match &self.timezone {
            None => Ok(TimeZone::try_system().unwrap_or(TimeZone::UTC)),
            Some(name) => TimeZone::get(name).map_err(|_| {
                Stop::input(format!(
                    "--timezone: \"{name}\" is not a time zone; write one such as Europe/Dublin or UTC"
                ))
            }),
        }
    }
}

/// Runs something that waits for a database or a network.
///
/// # Errors
/// Those of `work`, and when the system gives no threads.
pub(crate) fn wait<T>(work: impl Future<Output = Result<T, Stop>>) -> Result<T, Stop> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    runtime.map_err(|e| Stop::failed(format!("no threads can be started ({e})")))?.block_on(work)
}

/// The person with this name who works here.
///
/// # Errors
/// When nobody has it, or the people cannot be read.
pub(crate) async fn person(shop: &Shop, name: &str) -> Result<Person, Stop> {
    let mut people = shop.people().await?;
    people.retain(|p| p.active);
    if let Some(found) = people.iter().find(|p| p.name.eq_ignore_ascii_case(name.trim())) {
        return Ok(found.clone());
    }
    let names: Vec<&str> = people.iter().map(|p| p.name.as_str()).collect();
    let known = match names.as_slice() {
        [] => "nobody is entered yet: guidecoat people add NAME --role lead".to_string(),
        _ => format!("there are {}", names.join(", ")),
    };
    Err(Stop::input(format!("nobody called \"{name}\" works here; {known}")))
}
