//! Why a command ended without an answer: one line for people, one code for scripts.

use std::fmt;

use job::catalogue::CatalogueError;
use job::outlook::OutlookError;
use job::parcel::ParcelError;
use job::ports::StoreError;
use job::shop::{BackupError, ShopError};
use web::print::PrintError;

/// Why a command ended; each kind has an exit code of its own.
#[derive(Debug)]
pub(crate) enum Stop {
    /// A record is broken: exit 1.
    Broken(String),
    /// Something given is not right: exit 2. The line says where, what, and what would be right.
    Input(String),
    /// Anything else, such as a database that cannot be reached: exit 3.
    Failed(String),
}

impl Stop {
    /// Something given is not right.
    pub(crate) fn input(why: impl fmt::Display) -> Self {
        Self::Input(why.to_string())
    }

    /// Something could not be done.
    pub(crate) fn failed(why: impl fmt::Display) -> Self {
        Self::Failed(why.to_string())
    }

    /// The same, with the name of the file it is about in front.
    pub(crate) fn about(self, file: &str) -> Self {
        match self {
            Self::Input(why) => Self::Input(format!("{file}: {why}")),
            other => other,
        }
    }

    /// The exit code.
    pub(crate) fn code(&self) -> u8 {
        match self {
            Self::Broken(_) => 1,
            Self::Input(_) => 2,
            Self::Failed(_) => 3,
        }
    }
}

impl fmt::Display for Stop {
    /// One line, whatever the text holds: scripts read standard error line by line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Self::Broken(why) | Self::Input(why) | Self::Failed(why)) = self;
        let words: Vec<&str> = why.split(char::is_whitespace).filter(|word| !word.is_empty()).collect();
        f.write_str(&words.join(" "))
    }
}

impl From<StoreError> for Stop {
    fn from(e: StoreError) -> Self {
        Self::failed(e)
    }
}

impl From<CatalogueError> for Stop {
    fn from(e: CatalogueError) -> Self {
        Self::input(e)
    }
}

impl From<OutlookError> for Stop {
    fn from(e: OutlookError) -> Self {
        Self::failed(e)
    }
}

impl From<PrintError> for Stop {
    fn from(e: PrintError) -> Self {
        match e {
            PrintError::Shop(e) => e.into(),
            PrintError::Dossier(_) | PrintError::Stopped(_) => Self::failed(e),
        }
    }
}

impl From<ParcelError> for Stop {
    fn from(e: ParcelError) -> Self {
        match e {
            ParcelError::Broken { .. } => Self::Broken(e.to_string()),
            ParcelError::Io { .. } => Self::failed(e),
            _ => Self::input(e),
        }
    }
}

impl From<ShopError> for Stop {
    fn from(e: ShopError) -> Self {
        match e {
            ShopError::Parcel(e) => e.into(),
            ShopError::Store(e) => e.into(),
            ShopError::Broken(_) => Self::Broken(e.to_string()),
            ShopError::Crowded | ShopError::Outlook(_) | ShopError::Shelf(_) => Self::failed(e),
            ShopError::Invalid(errors) => {
                let told: Vec<String> = errors.iter().map(|e| format!("{}: {}. {}", e.field, e.say, e.right)).collect();
                Self::Input(told.join(" "))
            }
            ShopError::NoSuchCar(_)
            | ShopError::NoSuchPerson(_)
            | ShopError::NoSuchEntry
            | ShopError::AlreadySuperseded(_)
            | ShopError::Locked(_)
            | ShopError::TakenBack(_)
            | ShopError::AskedAnew(_)
            | ShopError::Overtaken(_)
            | ShopError::Preview(_)
            | ShopError::Newer { .. } => Self::input(e),
        }
    }
}

impl From<BackupError> for Stop {
    fn from(e: BackupError) -> Self {
        match e {
            BackupError::Shop(e) => e.into(),
            BackupError::File { .. } | BackupError::Newer { .. } | BackupError::NotEmpty { .. } => Self::input(e),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Stop;

    #[test]
    fn a_stop_is_one_line_whatever_it_is_told() {
        let stop = Stop::input("pairs.csv, row 2:\n\"x\ty\" found;\r\n  a number is needed");
        assert_eq!(stop.to_string(), "pairs.csv, row 2: \"x y\" found; a number is needed");
        assert_eq!(stop.code(), 2);
    }
}
