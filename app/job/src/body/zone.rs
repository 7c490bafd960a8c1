//! Zone instances: which zones a body has, and where each one sits.

/// Which half of the car an instance sits on, as the driver sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The car's left.
    Left,
    /// The car's right.
    Right,
    /// On the centre line, or the only one of its kind.
    Centre,
}

impl Side {
    /// Whether zones on these sides can lie next to each other: on the same side, or one of them on the centre line.
    pub fn meets(self, other: Self) -> bool {
        self == other || self == Self::Centre || other == Self::Centre
    }
}

/// Something a car of this body may have or not have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BodyOption {
    /// A sliding or folding roof panel with its tray and drains.
    Sunroof,
}

/// One zone in one place: the thing that is looked at, hatched and listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instance {
    /// Stable name, for example `Z01.L`, `Z06.RF` or `Z52`.
    pub id: String,
    /// The zone of the catalogue, for example `Z01`.
    pub zone: String,
    /// Which half of the car.
    pub side: Side,
    /// Where it is in words ("left", "right front", "left, tunnel side"); empty when there is only one.
    pub position: &'static str,
    /// Short readable name without the position ("outer sill").
    pub label: String,
    /// The option that must be fitted for this instance to exist.
    pub fitted: Option<BodyOption>,
}

impl Instance {
    /// Short name with its place, for example "outer sill, left".
    pub fn name(&self) -> String {
        if self.position.is_empty() { self.label.clone() } else { format!("{}, {}", self.label, self.position) }
    }
}

/// The places a zone may have, with their side and words; `C` is the only one of its kind.
pub(super) const PLACES: [(&str, Side, &str); 13] = [
    ("C", Side::Centre, ""),
    ("L", Side::Left, "left"),
    ("R", Side::Right, "right"),
    ("LF", Side::Left, "left front"),
    ("LR", Side::Left, "left rear"),
    ("RF", Side::Right, "right front"),
    ("RR", Side::Right, "right rear"),
    ("LS", Side::Left, "left, at the sill"),
    ("RS", Side::Right, "right, at the sill"),
    ("LP", Side::Left, "left, on the post"),
    ("RP", Side::Right, "right, on the post"),
    ("LT", Side::Left, "left, tunnel side"),
    ("RT", Side::Right, "right, tunnel side"),
];

/// The id of a zone in a place.
pub(super) fn instance_id(zone: &str, place: &str) -> String {
    if place == "C" { zone.to_owned() } else { format!("{zone}.{place}") }
}

/// The same place on the other half of the car: `LF` becomes `RF`.
pub(super) fn other_side(place: &str) -> Option<String> {
    place.strip_prefix('L').map(|rest| format!("R{rest}"))
}
