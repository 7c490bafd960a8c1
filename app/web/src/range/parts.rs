//! The whole job by its parts, in hours and in money, and the hours that were worked.

use job::outlook::Outcome;
use job::worked::Part;
use maud::{Markup, html};

use super::Sight;
use crate::link;
use crate::next::hours;

impl Sight<'_> {
    pub(super) fn parts(&self) -> Markup {
        let range = self.range();
        let row = |words: &str, o: &Outcome, whole: bool| {
            html! {
                tr.sel[whole] {
                    th scope="row" { (words) }
                    @for (h, wide) in [(o.p10, false), (o.p50, false), (o.p80, true), (o.p95, false)] { td.r.wide-only[wide] { (hours(h)) } }
                }
            }
        };
        html! {
            @if !range.parts.is_empty() {
                section #parts {
                    h2 { "The whole job, by its parts" }
                    table {
                        caption { "Hours still to do" }
                        thead { (quantiles("Part", "h")) }
                        tbody {
                            @for (part, outcome) in &range.parts { (row(part.words(), outcome, false)) }
                            (row("The whole", &range.whole, true))
                        }
                    }
                    p.small { "The ends do not add up to those of the whole: not every part goes well, or badly, at once. What is not metal comes from the shop's quantities and rates for each operation, and shrinks as the car reaches the next stage." }
                    (self.money())
                }
            }
        }
    }

    fn money(&self) -> Markup {
        let of = self.range().money.as_ref().zip(self.car.details.rates.as_ref());
        html! {
            @match of {
                Some((money, rates)) => {
                    table #money {
                        caption { "What is still to do, at the shop's rates, " (rates.currency) }
                        thead { (quantiles("Together", &rates.currency)) }
                        tbody {
                            tr {
                                th scope="row" { "Money" }
                                @for (sum, wide) in [(money.p10, false), (money.p50, false), (money.p80, true), (money.p95, false)] { td.r.wide-only[wide] { (tidy(sum)) } }
                            }
                        }
                    }
                    p.small { "The rates are multiplied last: " (tidy_rate(rates.bench)) " for a bench hour, " (tidy_rate(rates.painter)) " for a painter's" @if let Some(materials) = rates.materials { ", and " (tidy_rate(materials)) " of materials with each." } @else { ". Materials are not in it." } }
                },
                None => p.small {
                    "No rates are put down for this car, so nothing is said in money."
                    @if self.leads { " " a.touch href={ (link::shell(self.car.id)) "/details" } { "Put down the rates" } }
                },
            }
        }
    }

    pub(super) fn worked(&self) -> Markup {
        let parts = self.car.worked_by_part();
        html! {
            section #worked {
                h2 { "Hours worked so far" }
                @if parts.is_empty() {
                    div.wait { p { "None are put down. From hours put down on zones that were made good the shop learns its own factor." } }
                } @else {
                    table {
                        thead { tr { th scope="col" { "Part" } th.r scope="col" { "Worked" } } }
                        tbody {
                            @for part in Part::ALL { @if let Some(h) = parts.get(part) { tr { th scope="row" { (part.words()) } td.r { (hours(*h)) } } } }
                            tr.sel { th scope="row" { "Together" } td.r { (hours(self.range().worked_h)) } }
                        }
                    }
                }
                @if self.writes { p.no-print { a.btn href={ (link::shell(self.car.id)) "/add?kind=worked#worked" } { "Put down hours" } } }
            }
        }
    }
}

fn quantiles(first: &str, unit: &str) -> Markup {
    html! {
        tr {
            th scope="col" { (first) }
            @for (p, wide) in [("P10", false), ("P50, likely", false), ("P80", true), ("P95", false)] { th.r.wide-only[wide] scope="col" { (p) @if unit != "h" { ", " (unit) } } }
        }
    }
}

/// A sum that nobody knows better than to three figures.
fn tidy(sum: f64) -> String {
    let size = [100_000.0, 10_000.0, 1_000.0].into_iter().find(|size| sum >= *size).map_or(1.0, |size| size / 100.0);
    format!("{:.0}", (sum / size).round() * size)
}

fn tidy_rate(rate: f64) -> String {
    format!("{rate:.2}").trim_end_matches('0').trim_end_matches('.').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_is_said_to_three_figures() {
        assert_eq!([0.0, 84.6, 1_234.0, 56_789.0, 123_456.0].map(tidy), ["0", "85", "1230", "56800", "123000"]);
        assert_eq!([62.0, 62.5, 0.25].map(tidy_rate), ["62", "62.5", "0.25"]);
    }
}
