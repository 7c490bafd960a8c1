//! The scenes of the demo: which sheet, and what happened to it.

use serde::Deserialize;

use super::harm::place;
use super::sheet::{Ground, Sheet, WIDE};

/// The car's old colour where it is still on: a faded copper.
const OLD_COLOUR: Ground = Ground::Paint([0.235, 0.082, 0.040]);

/// A scene that the demo's entries can name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(in super::super) enum Scene {
    SillBlisters,
    CoverSillEdge,
    SillSeamBare,
    SillEndHole,
    Membrane,
    PostFootHoled,
    PostFootBetter,
    MudPocket,
    JackingPoint,
    ToeBoard,
    FloorPits,
    ScuttleDrain,
    ScreenCorner,
    RoofPits,
    GlassFrame,
    LeadJoint,
    ArchLip,
    DogLeg,
    SidePocket,
    LegPlate,
    FillerEdge,
    DoorHem,
    WeldRun,
    PatchDressed,
    Primed,
}

impl Scene {
    /// The scene as a sheet, and how many pixels of the picture go to a mm.
    pub(super) fn stage(self, seed: u32) -> (Sheet, f32) {
        let (ground, wide_mm) = self.ground();
        let mm = wide_mm / WIDE as f32;
        let mut sheet = Sheet::new(ground, mm, seed);
        self.happen(&mut sheet);
        (sheet, 2.0 / mm)
    }

    /// What the sheet is, and how many mm of it are seen from left to right.
    fn ground(self) -> (Ground, f32) {
        match self {
            Self::SillBlisters | Self::ArchLip => (OLD_COLOUR, 240.0),
            Self::DogLeg | Self::DoorHem => (OLD_COLOUR, 200.0),
            Self::CoverSillEdge | Self::SillSeamBare | Self::FillerEdge => (Ground::Bare, 220.0),
            Self::PostFootHoled | Self::SillEndHole | Self::ToeBoard => (Ground::Bare, 190.0),
            Self::PostFootBetter | Self::ScreenCorner | Self::GlassFrame => (Ground::Bare, 180.0),
            Self::RoofPits | Self::LeadJoint => (Ground::Bare, 160.0),
            Self::Membrane => (Ground::Scale, 170.0),
            Self::MudPocket | Self::LegPlate | Self::JackingPoint => (Ground::Underseal, 230.0),
            Self::FloorPits => (Ground::Blasted, 200.0),
            Self::ScuttleDrain | Self::SidePocket => (Ground::OldPrimer, 210.0),
            Self::WeldRun | Self::PatchDressed => (Ground::Bare, 150.0),
            Self::Primed => (Ground::Primer, 210.0),
        }
    }

    fn happen(self, sheet: &mut Sheet) {
        let (w, h) = sheet.size();
        // The rule covers the lowest 15 mm.
        let h = h - 15.0;
        let spot = |x: f32, y: f32, rx: f32, ry: f32| place(x * w, y * h, rx, ry);
        match self {
            Self::SillBlisters => sheet
                .folded(0.70 * h, 4.0, -3.0)
                .blistered(0.58 * h, 0.08 * w, 0.92 * w)
                .rusted(spot(0.63, 0.68, 16.0, 7.0))
                .streaked(0.66 * h),
            Self::CoverSillEdge => sheet
                .lapped(0.44 * h, 0.0)
                .welded(0.43 * h, 0.30 * w, 0.52 * w, false)
                .rusted(spot(0.76, 0.52, 30.0, 13.0))
                .streaked(0.47 * h),
            Self::SillSeamBare => sheet
                .lapped(0.60 * h, 34.0)
                .pitted(spot(0.55, 0.55, 70.0, 26.0), 0.8)
                .rusted(spot(0.30, 0.64, 26.0, 9.0)),
            Self::SillEndHole => {
                sheet.lapped(0.24 * h, 28.0).holed(spot(0.56, 0.60, 34.0, 17.0)).ringed(spot(0.56, 0.58, 62.0, 38.0))
            }
            Self::Membrane => {
                sheet.folded(0.30 * h, 3.0, 5.0).holed(spot(0.62, 0.66, 38.0, 17.0)).holed(spot(0.21, 0.58, 9.0, 6.0))
            }
            Self::PostFootHoled => sheet
                .folded(0.20 * h, 2.5, -4.0)
                .lapped(0.83 * h, 26.0)
                .pitted(spot(0.45, 0.55, 75.0, 45.0), 0.8)
                .holed(spot(0.40, 0.60, 22.0, 27.0))
                .holed(spot(0.70, 0.70, 8.0, 5.0)),
            Self::PostFootBetter => {
                sheet.folded(0.20 * h, 2.5, -4.0).lapped(0.83 * h, 26.0).pitted(spot(0.42, 0.66, 44.0, 20.0), 0.55)
            }
            Self::MudPocket => sheet.muddied(spot(0.52, 0.60, 88.0, 46.0)).rusted(spot(0.24, 0.20, 20.0, 12.0)),
            Self::JackingPoint => {
                sheet.folded(0.30 * h, 5.0, 6.0).drained(0.52 * w, 0.62 * h, 19.0).rusted(spot(0.66, 0.76, 34.0, 14.0))
            }
            Self::ToeBoard => {
                sheet.lapped(0.34 * h, 30.0).holed(spot(0.34, 0.68, 24.0, 13.0)).rusted(spot(0.75, 0.50, 30.0, 15.0))
            }
            Self::FloorPits => {
                sheet.folded(0.22 * h, 4.0, 3.5).folded(0.80 * h, 4.0, -3.5).pitted(spot(0.5, 0.52, 80.0, 40.0), 0.9)
            }
            Self::ScuttleDrain => sheet
                .drained(0.50 * w, 0.62 * h, 8.0)
                .muddied(spot(0.38, 0.70, 50.0, 26.0))
                .rusted(spot(0.68, 0.52, 40.0, 22.0)),
            Self::ScreenCorner => sheet
                .folded(0.40 * h, 3.0, -4.0)
                .drained(0.22 * w, 0.22 * h, 2.6)
                .drained(0.52 * w, 0.22 * h, 2.6)
                .holed(spot(0.57, 0.52, 15.0, 8.0)),
            Self::RoofPits => sheet.pitted(spot(0.5, 0.5, 78.0, 56.0), 1.0).streaked(0.10 * h),
            Self::GlassFrame => sheet
                .folded(0.50 * h, 3.0, -5.0)
                .holed(spot(0.36, 0.46, 21.0, 8.0))
                .rusted(spot(0.74, 0.48, 24.0, 10.0)),
            Self::LeadJoint => sheet.leaded(0.46 * h, 19.0).rusted(spot(0.66, 0.66, 22.0, 7.0)),
            Self::ArchLip => sheet
                .folded(0.66 * h, 3.0, 2.5)
                .blistered(0.64 * h, 0.34 * w, 0.94 * w)
                .rusted(spot(0.74, 0.72, 32.0, 9.0)),
            Self::DogLeg => sheet.folded(0.55 * h, 6.0, -5.0).holed(spot(0.58, 0.70, 14.0, 9.0)).blistered(
                0.44 * h,
                0.2 * w,
                0.66 * w,
            ),
            Self::SidePocket => {
                sheet.lapped(0.36 * h, 40.0).muddied(spot(0.70, 0.80, 50.0, 20.0)).holed(spot(0.36, 0.66, 20.0, 13.0))
            }
            Self::LegPlate => sheet
                .lapped(0.30 * h, 0.0)
                .lapped(0.74 * h, 0.0)
                .welded(0.295 * h, 0.12 * w, 0.34 * w, false)
                .welded(0.735 * h, 0.50 * w, 0.80 * w, false)
                .rusted(spot(0.72, 0.34, 34.0, 10.0)),
            Self::FillerEdge => sheet.filled(0.52 * w),
            Self::DoorHem => sheet
                .folded(0.70 * h, 2.0, -2.5)
                .blistered(0.66 * h, 0.16 * w, 0.72 * w)
                .holed(spot(0.36, 0.70, 9.0, 4.5)),
            Self::WeldRun => sheet.welded(0.48 * h, 0.0, w, false),
            Self::PatchDressed => sheet.welded(0.36 * h, 0.10 * w, 0.90 * w, true).welded(0.80 * h, 0.0, w, false),
            Self::Primed => sheet.lapped(0.52 * h, 32.0).folded(0.22 * h, 5.0, 4.0),
        };
    }
}
