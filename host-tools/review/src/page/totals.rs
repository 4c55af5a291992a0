//! Totals as small tables with bars.

use maud::{Markup, html};

use crate::view::TripTotals;

type TotalsTableRow = (String, usize, usize);

pub(super) fn totals(totals: &TripTotals) -> Markup {
    html! {
        p {
            strong { (totals.confirmed) } " confirmed, "
            strong { (totals.open) } " to decide"
        }
        div .totals {
            (table("Band", &totals.bands))
            (table("Area", &totals.areas))
            (table("Hour, UTC", &totals.hours))
        }
    }
}

fn table(heading: &str, rows: &[TotalsTableRow]) -> Markup {
    let most = rows
        .iter()
        .map(|row| row.1 + row.2)
        .max()
        .unwrap_or(1)
        .max(1);
    html! {
        @if !rows.is_empty() {
            table {
                thead { tr { th scope="col" { (heading) } th scope="col" colspan="2" { "Contacts" } } }
                tbody {
                    @for (name, confirmed, open) in rows {
                        tr {
                            th scope="row" { (name) }
                            td .many { (confirmed + open) }
                            td { (bar(*confirmed, *open, most)) }
                        }
                    }
                }
            }
        }
    }
}

/// Confirmed contacts are full, the others hollow.
fn bar(confirmed: usize, open: usize, most: usize) -> Markup {
    let width = |many: usize| format!("{:.1}", many as f64 * 100.0 / most as f64);
    html! {
        svg .bar viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true" {
            rect .full x="0" y="0" height="10" width=(width(confirmed)) {}
            rect .hollow x=(width(confirmed)) y="0" height="10" width=(width(open)) {}
        }
    }
}
