//! A copy of the whole shop, and a shop from a copy.

use std::io::{self, BufReader, BufWriter, Write};
use std::path::PathBuf;

use clap::Args;
use job::shop::Restored;
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::file::{self, Part};
use crate::shop::{Everywhere, Missing, wait};
use crate::stop::Stop;

/// Copy the whole shop into one file, while it runs.
#[derive(Debug, Args)]
pub(crate) struct Backup {
    /// Where the copy goes; a file that stands there is replaced once the copy is whole.
    file: PathBuf,
}

/// Bring a shop back from a copy, into an empty database.
#[derive(Debug, Args)]
pub(crate) struct Restore {
    /// The copy.
    file: PathBuf,
}

impl Backup {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        wait(async {
            let shop = everywhere.shop(Missing::Refuse).await?;
            let mut part = Part::begin(&self.file)?;
            let mut out = BufWriter::new(part.take()?);
            let copied = shop.backup(&mut out, &file::name(&self.file)).await?;
            let out = out.into_inner().map_err(|e| Stop::failed(format!("{}: {e}", file::name(&self.file))))?;
            part.keep(out)?;
            say(&Copied(copied), everywhere.json)
        })
    }
}

impl Restore {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        wait(async {
            let reader = BufReader::new(file::open(&self.file)?);
            let shop = everywhere.shop(Missing::Make).await?;
            let restored = shop.restore(reader, &file::name(&self.file)).await?;
            say(&Copied(restored), everywhere.json)
        })
    }
}

#[derive(Debug, Serialize)]
#[serde(transparent)]
struct Copied(Restored);

impl Answer for Copied {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let Restored { cars, events, people, files } = self.0;
        columns(out, &[row!["cars", "entries", "people", "files"], row![cars, events, people, files]])
    }
}
