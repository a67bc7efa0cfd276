//! What followed the first test that a baby is listed for, in one sentence.

use crate::queries::review::{Case, TestState};

use super::wording::Wording;

/// `After that: phototherapy …; serum not above the line …; no exchange transfusion is recorded.` Empty
/// where no test is among the findings.
pub(super) fn followed(wording: &Wording<'_>, cases: &[&Case]) -> String {
    let baby = wording.baby;
    let of_tests = cases
        .iter()
        .filter(|case| matches!(case.fact_table.as_str(), "screens" | "serum"));
    let Some(first_s) = of_tests
        .filter_map(|case| Some(baby.test(&case.fact_table, &case.fact_id)?.at_s))
        .min()
    else {
        return String::new();
    };
    let is_running = |start_s: i64, end_s: Option<i64>| start_s < first_s && end_s.is_none_or(|end_s| first_s < end_s);
    let mut courses = baby.courses.iter();
    let lamps = match courses.find(|c| c.start_s >= first_s || is_running(c.start_s, c.end_s)) {
        Some(course) if course.start_s < first_s => {
            format!("phototherapy was running since {}", wording.clock.short(course.start_s))
        }
        Some(course) => format!(
            "phototherapy from {}",
            wording.at(course.start_s).trim_start_matches("at ")
        ),
        None => "no phototherapy is recorded".to_owned(),
    };
    let serum = baby
        .tests
        .iter()
        .filter(|test| test.state == TestState::Valid && test.at_s > first_s);
    let mut fallen = serum.filter(|test| !test.is_above_line && test.line_micro.is_some());
    let fell = match fallen.next() {
        Some(test) => format!("a serum not above the line {}", wording.at(test.at_s)),
        None => "no serum shows a fall below the line".to_owned(),
    };
    let exchange = match baby.exchanges.iter().find(|exchange| exchange.at_s >= first_s) {
        Some(exchange) => format!("exchange transfusion {}", wording.at(exchange.at_s)),
        None => "no exchange transfusion is recorded".to_owned(),
    };
    format!("After the first of these: {lamps}; {fell}; {exchange}.")
}
