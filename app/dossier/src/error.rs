//! Why a dossier could not be made.

/// Why a dossier could not be made. Nothing that a user typed or photographed should cause any of these.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DossierError {
    /// The typesetter refused the sheets.
    #[error("the dossier could not be set: {0}")]
    Setting(String),
    /// The sheets were set, but not turned into a PDF.
    #[error("the dossier could not be written as PDF: {0}")]
    Writing(String),
}
