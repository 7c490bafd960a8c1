//! The dossier, off the threads that answer pages.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use job::ids::CarId;
use job::shop::Shop;

/// Why there is no dossier.
#[derive(Debug, thiserror::Error)]
pub enum PrintError {
    /// The car could not be read.
    #[error(transparent)]
    Shop(#[from] job::shop::ShopError),
    /// The PDF could not be drawn.
    #[error(transparent)]
    Dossier(#[from] dossier::DossierError),
    /// The work was cut short.
    #[error("the work was cut short ({0})")]
    Stopped(#[from] tokio::task::JoinError),
}

/// A car's dossier as a PDF, as of `now`.
///
/// # Errors
/// When the car cannot be read or the PDF cannot be drawn.
pub async fn dossier(shop: &Shop, car: CarId, zone: &TimeZone, now: Timestamp) -> Result<Vec<u8>, PrintError> {
    let view = dossier::view_of(shop, car, zone, now).await?;
    Ok(tokio::task::spawn_blocking(move || dossier::render(&view)).await??)
}
