//! The dossier and the printed page of a report, off the threads that answer pages.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use job::car::Car;
use job::ids::CarId;
use job::question::Report;
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

/// The printed page of a report, drawn from the record of `car` as it is handed over. The same report over the
/// same record gives the same bytes.
///
/// # Errors
/// When a photograph cannot be read or the PDF cannot be drawn.
pub async fn report(shop: &Shop, car: &Car, report: &Report, zone: &TimeZone) -> Result<Vec<u8>, PrintError> {
    let view = dossier::report_view_of(shop, car, report, zone).await?;
    Ok(tokio::task::spawn_blocking(move || dossier::render_report(&view)).await??)
}
