//! The oracle: four measures computed with plain loops over raw CSV rows.
//!
//! Written to be obviously right, not fast: every baby is walked on its own,
//! each rule by a scan over that baby's rows. Nothing here is shared with the
//! SQL it checks. "Choice n" in a comment is a numbered decision of the
//! project; everything else quoted is a sentence of the trade's definitions.
#![allow(
    unreachable_pub,
    reason = "the same files serve as a library and inside a test binary"
)]

mod balance;
pub(crate) mod courses;
pub(crate) mod data_end;
pub(crate) mod facts;
mod figure;
pub(crate) mod judge;
mod line;
pub(crate) mod moment;
pub(crate) mod read;
pub(crate) mod readmission;
pub(crate) mod recheck;
pub(crate) mod referral;
pub(crate) mod rules;
pub(crate) mod stays;
#[cfg(test)]
mod tests;
pub(crate) mod time_to_serum;
pub(crate) mod value;
pub(crate) mod versions;
pub(crate) mod view;

pub use balance::{Balance, balance};
pub use figure::Figure;
pub use line::line_umol_l_micro;
pub use read::Load;
pub use rules::Rules;

/// Every figure of one local month, the network first and then each unit.
///
/// `month` is `YYYY-MM` in the zone of the rules. All loads are taken as
/// known; to look back, pass only the first loads.
pub fn figures(loads: &[Load], rules: &Rules, month: &str) -> Vec<Figure> {
    let zone = moment::Zone::named(&rules.zone);
    let rows = read::rows(loads, &zone);
    let register = versions::register(&rows, &zone);
    let ends = data_end::complete_through(loads, &rows, &zone);

    let mut all = Vec::new();
    for (tables, measure) in [
        (&data_end::FIVE_TABLES[..], referral::figures as Measure),
        (&data_end::FIVE_TABLES[..], time_to_serum::figures),
        (&data_end::FIVE_TABLES[..], recheck::figures),
        (&data_end::READMISSION_TABLES[..], readmission::figures),
    ] {
        let asked = figure::Asked {
            month,
            has_data: data_end::has_data(&register, tables, month, &zone),
        };
        let views = view::views(&register, data_end::data_end(&ends, tables), rules, &zone);
        all.extend(measure(&views, rules, &zone, &asked));
    }
    all
}

type Measure = fn(&[view::View], &Rules, &moment::Zone, &figure::Asked) -> Vec<Figure>;
