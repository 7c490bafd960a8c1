//! How many litres a coat takes, and how thick it lies wet.
//!
//! Not done here: prices, tins, thinning by mass.

use crate::CoatingError;
use crate::error::within;

/// What is to be coated, and with what; ready to spray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    /// Area in m2, 0.001 to 1 000.
    pub area_m2: f64,
    /// Dry film of all coats of it together, in um, 0.1 to 10 000.
    pub dft_um: f64,
    /// Volume solids ready to spray, in percent, 1 to 100.
    pub solids_pct: f64,
    /// Share of the sprayed solids that stays on the panel, 0.05 to 1.
    pub transfer: f64,
}

/// What a coat takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// Litres ready to spray, without reserve.
    pub litres: f64,
    /// Wet film of all coats together, in um.
    pub wet_um: f64,
    /// Area that one litre covers with nothing lost, in m2.
    pub coverage_m2_l: f64,
}

/// What to have beyond the litres that go through the gun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extra {
    /// Share of the litres on top, for cup, hose and a second thought; 0 to 2.
    pub reserve_share: f64,
    /// Litres of the same batch to keep sealed, 0 to 50.
    pub keep_sealed_l: f64,
}

/// Litres to mix, each part by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// Through the gun.
    pub spray_l: f64,
    /// Reserve.
    pub reserve_l: f64,
    /// Kept sealed.
    pub keep_sealed_l: f64,
}

impl Extra {
    /// 15 % on top and 0.4 L kept: the usual for a colour (common practice, no source: 15 to 20 %, 0.3 to 0.5 L).
    pub const COLOUR: Self = Self { reserve_share: 0.15, keep_sealed_l: 0.4 };
}

/// Litres, wet film and coverage of a coat; fails where a number lies outside its range.
///
/// litres = area x dry film / (10 x volume solids x transfer), with m2, um, percent and a share: one m2 at one um is
/// a millilitre of dry paint.
///
/// ```
/// use coating::quantity::{Coat, quantity};
/// let base = quantity(&Coat { area_m2: 11.0, dft_um: 17.0, solids_pct: 13.0, transfer: 0.55 })?;
/// assert!((base.litres - 2.6).abs() < 0.05);
/// assert!((base.wet_um - 131.0).abs() < 0.5);
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn quantity(coat: &Coat) -> Result<Quantity, CoatingError> {
    within("the area", "m2", coat.area_m2, 0.001..=1000.0)?;
    within("the dry film", "um", coat.dft_um, 0.1..=10_000.0)?;
    within("the volume solids", "%", coat.solids_pct, 1.0..=100.0)?;
    within("the transfer efficiency, as a share,", "", coat.transfer, 0.05..=1.0)?;
    Ok(Quantity {
        litres: coat.area_m2 * coat.dft_um / (10.0 * coat.solids_pct * coat.transfer),
        wet_um: coat.dft_um * 100.0 / coat.solids_pct,
        coverage_m2_l: 10.0 * coat.solids_pct / coat.dft_um,
    })
}

impl Quantity {
    /// The litres to mix with `extra`; fails where a number of it lies outside its range.
    pub fn with(&self, extra: &Extra) -> Result<Batch, CoatingError> {
        within("the reserve, as a share,", "", extra.reserve_share, 0.0..=2.0)?;
        within("what is kept sealed", "L", extra.keep_sealed_l, 0.0..=50.0)?;
        Ok(Batch {
            spray_l: self.litres,
            reserve_l: self.litres * extra.reserve_share,
            keep_sealed_l: extra.keep_sealed_l,
        })
    }
}

impl Batch {
    /// All of it, in litres.
    pub fn total_l(&self) -> f64 {
        self.spray_l + self.reserve_l + self.keep_sealed_l
    }
}
