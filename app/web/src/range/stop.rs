//! What is past the limit for a single finding, and what the owner was asked about it.

use std::collections::BTreeSet;

use job::ask;
use maud::{Markup, html};

use super::Sight;
use crate::link;
use crate::next::hours;
use crate::shell::upper;

/// How many findings are told.
const FINDINGS: usize = 12;

impl Sight<'_> {
    pub(super) fn stop_and_ask(&self) -> Markup {
        let limit = hours(self.car.details.ask_limit_h());
        let findings = ask::findings(self.car, self.outlook());
        let (asked, unasked): (Vec<_>, Vec<_>) = findings.iter().partition(|f| f.question.is_some());
        let questions: BTreeSet<usize> = asked.iter().filter_map(|f| f.question).collect();
        let shell = link::shell(self.car.id);
        html! {
            @if !unasked.is_empty() {
                div.note.stop.stack {
                    h2 { "Stop and ask" }
                    p {
                        @if unasked.len() == 1 { "One finding is" } @else { (unasked.len()) " findings are" }
                        " over the " (limit) " for a single finding, and the owner has not been asked. Nothing is cut there until the owner has chosen."
                    }
                    table {
                        thead { tr { th scope="col" { "Finding" } th.r scope="col" { "About" } th scope="col" { @if self.leads { "To do" } @else { "Entry" } } } }
                        tbody {
                            @for finding in unasked.iter().take(FINDINGS) {
                                tr {
                                    th scope="row" { a href=(link::entry(self.car.id, finding.entry.seq)) { (upper(&finding.zone.name())) } }
                                    td.r { (hours(finding.hours)) }
                                    td {
                                        @if self.leads { a href={ (shell) "/questions/new?zone=" (finding.zone.id) } { "Draft the question" } }
                                        @else { (finding.entry.seq) }
                                    }
                                }
                            }
                        }
                    }
                    @if unasked.len() > FINDINGS { p { "And " (unasked.len() - FINDINGS) " more." } }
                    p { a.btn.main href={ (shell) "/questions" } { "To the questions" } }
                }
            } @else if asked.is_empty() {
                p { "Stop and ask: a single finding over " (limit) " goes to the owner first. None has been found." }
            }
            @if !asked.is_empty() {
                p {
                    @if asked.len() == 1 { "One finding" } @else { (asked.len()) " findings" }
                    " over the " (limit) " for a single finding "
                    @if asked.len() == 1 { "is" } @else { "are" } " in "
                    @for (n, number) in questions.iter().enumerate() {
                        @if n > 0 { ", " }
                        a.touch href=(link::question(self.car.id, *number)) { "question " (number) }
                    }
                    "."
                }
            }
        }
    }
}
