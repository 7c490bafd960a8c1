use base::normal;
use base::stream::Stream;

/// Standard deviation of the film thickness from panel to panel, as a share.
const THICKNESS_SD: f64 = 0.05;
/// The same for the slopes of flakes.
const ORIENTATION_SD: f64 = 0.04;

/// How one panel came out, against what the gun was set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gun {
    pub(super) thickness: f64,
    pub(super) orientation: f64,
}

impl Gun {
    /// Exactly as set.
    pub fn nominal() -> Self {
        Self { thickness: 1.0, orientation: 1.0 }
    }

    /// As a hand sprays: thickness varies by 5 % and orientation by 4 % (one standard deviation).
    pub fn varied(seed: u64) -> Self {
        let mut random = Stream::new(seed, 11);
        let mut factor = |sd: f64| (1.0 + sd * normal::score(random.uniform())).clamp(0.7, 1.3);
        Self { thickness: factor(THICKNESS_SD), orientation: factor(ORIENTATION_SD) }
    }
}
