//! What the typesetter may see: its own sheets, four fonts and one car. No file, network or clock.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

macro_rules! sheets {
    ($($name:literal),+) => { &[$(($name, include_str!(concat!("sheets/", $name)))),+] };
}

/// The sheets: the dossier, the report, and what they are made of.
const SHEETS: &[(&str, &str)] =
    sheets!["main.typ", "report.typ", "parts.typ", "cover.typ", "zones.typ", "colour.typ", "owner.typ", "lists.typ"];
const DOSSIER: usize = 0;
const REPORT: usize = 1;

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| {
    SHEETS
        .iter()
        .filter_map(|&(name, text)| {
            let path = RootedPath::new(VirtualRoot::Project, VirtualPath::new(name).ok()?);
            Some(Source::new(FileId::new(path), text.to_owned()))
        })
        .collect()
});

/// Condensed lettering for words, one pitch for hashes and commands.
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let files = [dejavu::sans_condensed::regular(), dejavu::sans_condensed::bold(), dejavu::sans_mono::regular()];
    files.into_iter().filter_map(|file| Font::new(Bytes::new(file), 0)).collect()
});

static BOOK: LazyLock<LazyHash<FontBook>> = LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

/// Whether some font of the sheets has this character.
pub(crate) fn can_print(c: char) -> bool {
    FONTS.iter().any(|font| font.info().coverage.contains(c.into()))
}

/// The world of one dossier or report.
pub(crate) struct Office {
    library: LazyHash<Library>,
    main: usize,
}

impl Office {
    /// An office that sets a dossier from `inputs` and sees nothing else.
    pub(crate) fn new(inputs: Dict) -> Self {
        Self::of(inputs, DOSSIER)
    }

    /// An office that sets a report from `inputs` and sees nothing else.
    pub(crate) fn report(inputs: Dict) -> Self {
        Self::of(inputs, REPORT)
    }

    fn of(inputs: Dict, main: usize) -> Self {
        Self { library: LazyHash::new(Library::builder().with_inputs(inputs).build()), main }
    }
}

impl World for Office {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        SOURCES[self.main].id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        SOURCES.iter().find(|source| source.id() == id).cloned().ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.source(id).map(|source| Bytes::from_string(source.text().to_owned()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
