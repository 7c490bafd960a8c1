//! A ZIP as a list of files, to be read, altered and packed again.

use std::io::{Cursor, Read, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// The files of a ZIP in its order.
#[derive(Debug, Clone)]
pub(crate) struct Files(pub(crate) Vec<(String, Vec<u8>)>);

impl Files {
    pub(crate) fn of(zip: &[u8]) -> Self {
        let mut zip = ZipArchive::new(Cursor::new(zip)).unwrap();
        let mut files = Vec::new();
        for index in 0..zip.len() {
            let mut file = zip.by_index(index).unwrap();
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).unwrap();
            files.push((file.name().to_owned(), bytes));
        }
        Self(files)
    }

    pub(crate) fn text(&self, name: &str) -> String {
        let (_, bytes) = self.0.iter().find(|(n, _)| n == name).unwrap();
        String::from_utf8(bytes.clone()).unwrap()
    }

    /// The one file whose name begins so.
    pub(crate) fn named(&self, beginning: &str) -> String {
        self.0.iter().map(|(name, _)| name).find(|name| name.starts_with(beginning)).unwrap().clone()
    }

    /// With other bytes in a file.
    pub(crate) fn with(mut self, name: &str, bytes: impl AsRef<[u8]>) -> Self {
        match self.0.iter_mut().find(|(n, _)| n == name) {
            Some((_, old)) => *old = bytes.as_ref().to_vec(),
            None => self.0.push((name.to_owned(), bytes.as_ref().to_vec())),
        }
        self
    }

    /// Without a file.
    pub(crate) fn without(mut self, name: &str) -> Self {
        let before = self.0.len();
        self.0.retain(|(n, _)| n != name);
        assert_eq!(self.0.len(), before - 1);
        self
    }

    /// With a text in one file put in another's place, which must be there.
    pub(crate) fn swapped(self, name: &str, from: &str, to: &str) -> Self {
        let text = self.text(name);
        assert!(text.contains(from), "{from} is not in {text}");
        self.with(name, text.replacen(from, to, 1))
    }

    pub(crate) fn zip(&self) -> Cursor<Vec<u8>> {
        Cursor::new(packed(self.0.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice()))))
    }
}

/// Packs files into a ZIP.
pub(crate) fn packed<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, bytes) in files {
        zip.start_file(name, options).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}
