//! The one model of the shell: every page, the dossier and the exports draw from it.
//!
//! A body style is data (`catalogue/body/<style>`): named points in mm, smooth edges through them, and each
//! zone as a patch over those edges in the views that show it. This module reads and checks that data and turns
//! it into [`View`]s in px. It knows no states and no colours but for [`svg`], which writes a stand-alone map.
//!
//! Not done here: perspective, hidden lines (what lies over what is said by the data), and body styles other
//! than the two-door closed body.

mod callout;
mod curve;
mod data;
mod draw;
mod error;
mod outline;
mod path;
mod place;
pub mod svg;
mod table;
#[cfg(test)]
mod tests;
mod view;
mod zone;

use std::collections::BTreeMap;
use std::sync::OnceLock;

pub use error::BodyError;
pub use table::BodyFiles;
pub use view::{Callout, LETTER_PX, Label, Patch, Stroke, StrokeKind, View};
pub use zone::{BodyOption, Instance, Side};

/// A kind of body that can be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BodyStyle {
    /// Two doors and a fixed roof.
    TwoDoorClosed,
}

impl BodyStyle {
    /// Every style there is.
    pub const ALL: [BodyStyle; 1] = [BodyStyle::TwoDoorClosed];

    /// Stable name for files and records.
    pub fn id(self) -> &'static str {
        match self {
            BodyStyle::TwoDoorClosed => "two_door_closed",
        }
    }

    /// Name for people.
    pub fn name(self) -> &'static str {
        match self {
            BodyStyle::TwoDoorClosed => "two-door closed body",
        }
    }

    /// The style with this [`id`](BodyStyle::id).
    pub fn from_id(id: &str) -> Option<BodyStyle> {
        BodyStyle::ALL.into_iter().find(|s| s.id() == id)
    }

    /// The text of the style's files, which are part of the program.
    pub fn files(self) -> BodyFiles<'static> {
        match self {
            BodyStyle::TwoDoorClosed => BodyFiles {
                points: include_str!("../../../../catalogue/body/two_door_closed/points.csv"),
                edges: include_str!("../../../../catalogue/body/two_door_closed/edges.csv"),
                zones: include_str!("../../../../catalogue/body/two_door_closed/zones.csv"),
                patches: include_str!("../../../../catalogue/body/two_door_closed/patches.csv"),
                views: include_str!("../../../../catalogue/body/two_door_closed/views.toml"),
            },
        }
    }
}

/// One body style, drawn in all its views.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    instances: Vec<Instance>,
    place_in_list: BTreeMap<String, usize>,
    views: Vec<View>,
}

impl Body {
    /// The body of a style, read and checked on first use.
    ///
    /// The data is part of the program, so an error here is ours; ask once at start and report it.
    pub fn of(style: BodyStyle) -> Result<&'static Body, &'static BodyError> {
        static TWO_DOOR_CLOSED: OnceLock<Result<Body, BodyError>> = OnceLock::new();
        let slot = match style {
            BodyStyle::TwoDoorClosed => &TWO_DOOR_CLOSED,
        };
        slot.get_or_init(|| Body::read(&style.files())).as_ref()
    }

    /// A body from the text of its files; the error names file and row.
    pub fn read(files: &BodyFiles<'_>) -> Result<Body, BodyError> {
        draw::read(files)
    }

    /// Every instance the style can have, in the order of the zones.
    pub fn instances(&self) -> &[Instance] {
        &self.instances
    }

    /// The instances of a car with these options: a sunroof tray exists only where a sunroof is fitted.
    pub fn present(&self, options: &[BodyOption]) -> Vec<&Instance> {
        self.instances.iter().filter(|i| i.fitted.is_none_or(|o| options.contains(&o))).collect()
    }

    /// The instance with this id.
    pub fn instance(&self, id: &str) -> Option<&Instance> {
        self.place_in_list.get(id).and_then(|i| self.instances.get(*i))
    }

    /// The views, in the order of the sheets.
    pub fn views(&self) -> &[View] {
        &self.views
    }

    /// The view with this id.
    pub fn view(&self, id: &str) -> Option<&View> {
        self.views.iter().find(|v| v.id == id)
    }

    /// The view that shows most of an instance.
    pub fn best_view(&self, instance: &str) -> Option<&View> {
        let shown = |v: &View| v.patch(instance).map_or(0.0, |p| p.area_px2);
        self.views
            .iter()
            .filter(|v| v.patch(instance).is_some())
            .reduce(|best, v| if shown(v) > shown(best) { v } else { best })
    }

    /// Where a mark for an instance goes when nobody has placed it: the view, and u, v in mm of that view.
    pub fn centre(&self, instance: &str) -> Option<(&View, f64, f64)> {
        let view = self.best_view(instance)?;
        let (x, y) = view.patch(instance)?.anchor;
        let (u, v) = view.place(x, y);
        Some((view, u, v))
    }
}
