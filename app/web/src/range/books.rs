//! The two books: the hours of a zone's own row, which are used, beside the same work by the rates of the operations.

use std::collections::BTreeSet;

use job::catalogue::{ASK_OVER, TwoBooks};
use job::validate::zone_of;
use maud::{Markup, html};

use super::Sight;
use super::words::{more_or_less, part};
use crate::next::hours;
use crate::shell::upper;

/// How many zones are told.
const TOLD: usize = 12;

impl Sight<'_> {
    /// The zones in the range in both books, those that differ most first.
    pub(super) fn books(&self) -> Markup {
        let here: BTreeSet<&str> = self.range().by_zone.iter().map(|zone| zone_of(&zone.zone)).collect();
        let mut books: Vec<TwoBooks<'_>> =
            self.forecast.taught.catalogue.two_books().filter(|two| here.contains(two.zone.id.as_str())).collect();
        books.sort_by(|a, b| apart(b).total_cmp(&apart(a)));
        let far = books.iter().filter(|two| two.differs().abs() > ASK_OVER).count();
        html! {
            @if !books.is_empty() {
                section #books {
                    h2 { "Two books" }
                    p {
                        "The hours of a whole panel stand in two books: each zone's own row, which is used here, and the rates of the operations. They are never added. "
                        @match far {
                            0 => { "None of the " (books.len()) " zones in the range differs by more than " (part(ASK_OVER).trim_start_matches("about ")) "." },
                            far => { (far) " of the " (books.len()) " zones in the range " @if far == 1 { "differs" } @else { "differ" } " by more than " (part(ASK_OVER).trim_start_matches("about ")) ": ask which book is right." },
                        }
                    }
                    details.fold {
                        summary { "The zones that differ most" }
                        table {
                            thead { tr { th scope="col" { "Zone, whole panel" } th.r scope="col" { "Own row" } th.r scope="col" { "Operations" } th.wide-only scope="col" { "So the operations say" } } }
                            tbody {
                                @for two in books.iter().take(TOLD) {
                                    tr {
                                        th scope="row" { (upper(&two.zone.name)) }
                                        td.r { (hours(two.by_zone_h)) }
                                        td.r { (hours(two.by_operations_h)) }
                                        td.wide-only { (more_or_less(two.differs())) }
                                    }
                                }
                            }
                        }
                        @if books.len() > TOLD { p.small.soft { "And " (books.len() - TOLD) " that differ less." } }
                    }
                }
            }
        }
    }
}

/// How far the two are apart, the same up and down.
fn apart(two: &TwoBooks<'_>) -> f64 {
    let times = two.by_operations_h / two.by_zone_h;
    if times < 1.0 { 1.0 / times.max(1e-6) } else { times }
}
