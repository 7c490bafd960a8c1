//! What the colour of the car is for: parts, and the days by which they are to be sprayed.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// A part of the car that the colour must serve, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Serve {
    /// A zone instance, or a part in words.
    pub part: String,
    /// The day on which it is to be sprayed; `None` while that is not fixed.
    #[serde(default)]
    pub on: Option<Date>,
}

/// The parts and days that the car's colour must serve, as they stand from now on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ColourServes {
    /// Every part, those sprayed already included.
    pub serves: Vec<Serve>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}
