//! Reads the babies of a review: each listing once for all of them.

use std::collections::BTreeMap;

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::queries::{QueryError, catalogue};

use super::facts::{Baby, Course, Exchange, LinePiece, Recheck, Referral, Stay, Test, TestState, Treatment};
use super::{CASES, Case, cases};

/// The cases of the months `first` to `last`, gravest first, and their babies by id.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn review(
    session: &Session,
    first: Month,
    last: Month,
) -> Result<(Vec<Case>, BTreeMap<String, Baby>), QueryError> {
    let cases = cases::shown(session, first, last).await?;
    if cases.is_empty() {
        return Ok((cases, BTreeMap::new()));
    }
    let mut babies = born(session).await?;
    tests(session, &mut babies).await?;
    in_hospital(session, &mut babies).await?;
    obligations(session, &mut babies).await?;
    lines(session, &mut babies).await?;
    session.remove(CASES)?;
    Ok((cases, babies))
}

/// The rows of a listing, with columns by name.
struct Rows(Cells, usize, Vec<Option<String>>);

impl Rows {
    async fn of(session: &Session, listing: &str) -> Result<Self, QueryError> {
        let cells = Cells::new(session.rows(listing, catalogue::listing(listing), &[]).await?);
        let babies = cells.texts("infant_id");
        Ok(Self(cells, babies.len(), babies))
    }

    fn texts(&self, name: &str) -> Vec<String> {
        let texts = self.0.texts(name).into_iter();
        texts.map(Option::unwrap_or_default).collect()
    }

    fn ints(&self, name: &str) -> Vec<Option<i64>> {
        self.0.ints(name)
    }

    /// As [`Rows::ints`], of a column that is never empty.
    fn all_ints(&self, name: &str) -> Vec<i64> {
        self.0.ints(name).into_iter().map(|n| n.unwrap_or(0)).collect()
    }

    fn flags(&self, name: &str) -> Vec<bool> {
        self.0.ints(name).into_iter().map(|flag| flag == Some(1)).collect()
    }

    /// Gives each row, by its place, to its baby.
    fn each(&self, babies: &mut BTreeMap<String, Baby>, mut give: impl FnMut(&mut Baby, usize)) {
        for place in 0..self.1 {
            let id = self.2[place].as_deref().unwrap_or_default();
            if let Some(baby) = babies.get_mut(id) {
                give(baby, place);
            }
        }
    }
}

async fn born(session: &Session) -> Result<BTreeMap<String, Baby>, QueryError> {
    let rows = Rows::of(session, "review_babies").await?;
    let [ids, units, precisions, feedings, risks] =
        ["infant_id", "unit", "gestation_precision", "feeding", "risk_factors"].map(|name| rows.texts(name));
    let [born, born_days, gestations, weights] =
        ["born_s", "born_day_s", "gestation_days", "birth_weight_g"].map(|name| rows.ints(name));
    let baby = |i: usize| Baby {
        infant_id: ids[i].clone(),
        unit: units[i].clone(),
        born_s: born[i],
        born_day_s: born_days[i],
        gestation_days: gestations[i],
        is_gestation_in_weeks: precisions[i] == "weeks",
        weight_g: weights[i],
        feeding: feedings[i].clone(),
        risk_factors: risks[i].clone(),
        ..Baby::default()
    };
    Ok((0..ids.len()).map(|i| (ids[i].clone(), baby(i))).collect())
}

async fn tests(session: &Session, babies: &mut BTreeMap<String, Baby>) -> Result<(), QueryError> {
    let rows = Rows::of(session, "review_tests").await?;
    let [tables, ids, units, bounds, written, states, statuses, left_out] = [
        "test_table",
        "test_id",
        "unit",
        "bound",
        "value_text",
        "state",
        "status",
        "left_out",
    ]
    .map(|name| rows.texts(name));
    let [values, resulted, lines, exchange_lines, rises, apart] = [
        "value_micro",
        "resulted_s",
        "line_micro",
        "exchange_line_micro",
        "rise_micro",
        "apart_s",
    ]
    .map(|name| rows.ints(name));
    let at = rows.all_ints("at_s");
    let [due, above] = ["is_due", "is_above_line"].map(|name| rows.flags(name));
    rows.each(babies, |baby, i| {
        baby.tests.push(Test {
            table: tables[i].clone(),
            id: ids[i].clone(),
            unit: units[i].clone(),
            at_s: at[i],
            value_micro: values[i],
            bound: bounds[i].clone(),
            written: written[i].clone(),
            state: match states[i].as_str() {
                "screen" => TestState::Screen,
                "valid" => TestState::Valid,
                "failed" => TestState::Failed,
                "pending" => TestState::Pending,
                _ => TestState::Other,
            },
            status: statuses[i].clone(),
            resulted_s: resulted[i],
            line_micro: lines[i],
            exchange_line_micro: exchange_lines[i],
            is_due: due[i],
            is_above_line: above[i],
            left_out: left_out[i].clone(),
            rise: rises[i].zip(apart[i]),
        });
    });
    Ok(())
}

async fn in_hospital(session: &Session, babies: &mut BTreeMap<String, Baby>) -> Result<(), QueryError> {
    let rows = Rows::of(session, "review_courses").await?;
    let units = rows.texts("unit");
    let [nos, starts, episodes] = ["course_no", "start_s", "episodes"].map(|name| rows.all_ints(name));
    let (ends, assumed) = (rows.ints("end_s"), rows.flags("stop_assumed"));
    rows.each(babies, |baby, i| {
        baby.courses.push(Course {
            no: nos[i],
            unit: units[i].clone(),
            start_s: starts[i],
            end_s: ends[i],
            is_stop_assumed: assumed[i],
            episodes: episodes[i],
        });
    });
    let rows = Rows::of(session, "review_stays").await?;
    let [ids, units, sources, dispositions, codes] =
        ["stay_id", "unit", "source", "disposition", "primary_code"].map(|name| rows.texts(name));
    let (admitted, discharged) = (rows.all_ints("admitted_s"), rows.ints("discharged_s"));
    let of_birth = rows.flags("is_birth_stay");
    rows.each(babies, |baby, i| {
        baby.stays.push(Stay {
            id: ids[i].clone(),
            unit: units[i].clone(),
            admitted_s: admitted[i],
            discharged_s: discharged[i],
            source: sources[i].clone(),
            disposition: dispositions[i].clone(),
            code: codes[i].clone(),
            is_of_birth: of_birth[i],
        });
    });
    let rows = Rows::of(session, "review_exchanges").await?;
    let [ids, units] = ["exchange_id", "unit"].map(|name| rows.texts(name));
    let at = rows.all_ints("performed_s");
    rows.each(babies, |baby, i| {
        baby.exchanges.push(Exchange {
            id: ids[i].clone(),
            unit: units[i].clone(),
            at_s: at[i],
        });
    });
    Ok(())
}

async fn obligations(session: &Session, babies: &mut BTreeMap<String, Baby>) -> Result<(), QueryError> {
    let rows = Rows::of(session, "review_referrals").await?;
    let [ids, units, outcomes] = ["index_screen_id", "unit", "outcome"].map(|name| rows.texts(name));
    let [at, follow_ups, due, failed] =
        ["index_s", "follow_up_s", "due_screens", "failed_attempts"].map(|name| rows.all_ints(name));
    let [within, answered] = ["within_s", "answer_collected_s"].map(|name| rows.ints(name));
    rows.each(babies, |baby, i| {
        baby.referrals.push(Referral {
            screen_id: ids[i].clone(),
            unit: units[i].clone(),
            at_s: at[i],
            within_s: within[i],
            follow_up_s: follow_ups[i],
            due_screens: due[i],
            answered_s: answered[i],
            failed_attempts: failed[i],
            outcome: outcomes[i].clone(),
        });
    });
    let rows = Rows::of(session, "review_rechecks").await?;
    let [rules, kinds, tables, ids, units, accepts, outcomes] = [
        "rule",
        "trigger_kind",
        "trigger_table",
        "trigger_id",
        "unit",
        "accepts",
        "outcome",
    ]
    .map(|name| rows.texts(name));
    let [triggers, earliest, latest, late_until] =
        ["trigger_s", "earliest_s", "latest_s", "late_until_s"].map(|name| rows.all_ints(name));
    let [gaps, tested] = ["gap_micro", "tested_s"].map(|name| rows.ints(name));
    rows.each(babies, |baby, i| {
        baby.rechecks.push(Recheck {
            rule: rules[i].clone(),
            trigger_kind: kinds[i].clone(),
            trigger_table: tables[i].clone(),
            trigger_id: ids[i].clone(),
            unit: units[i].clone(),
            trigger_s: triggers[i],
            gap_micro: gaps[i],
            earliest_s: earliest[i],
            latest_s: latest[i],
            late_until_s: late_until[i],
            accepts: accepts[i].clone(),
            outcome: outcomes[i].clone(),
            tested_s: tested[i],
        });
    });
    let rows = Rows::of(session, "review_treatments").await?;
    let [ids, units, outcomes] = ["specimen_id", "unit", "outcome"].map(|name| rows.texts(name));
    let [collected, results, in_time, follow_ups] =
        ["collected_s", "result_s", "in_time_s", "follow_up_s"].map(|name| rows.all_ints(name));
    let [lines, started] = ["line_micro", "started_s"].map(|name| rows.ints(name));
    rows.each(babies, |baby, i| {
        baby.treatment = Some(Treatment {
            specimen_id: ids[i].clone(),
            unit: units[i].clone(),
            collected_s: collected[i],
            line_micro: lines[i],
            result_s: results[i],
            started_s: started[i],
            in_time_s: in_time[i],
            follow_up_s: follow_ups[i],
            outcome: outcomes[i].clone(),
        });
    });
    Ok(())
}

async fn lines(session: &Session, babies: &mut BTreeMap<String, Baby>) -> Result<(), QueryError> {
    let rows = Rows::of(session, "review_lines").await?;
    let [from, to, ages_from, ages_to] = ["from_s", "to_s", "age_from_s", "age_to_s"].map(|name| rows.all_ints(name));
    let [treatment_from, treatment_to, exchange_from, exchange_to] = [
        "phototherapy_from_micro",
        "phototherapy_to_micro",
        "exchange_from_micro",
        "exchange_to_micro",
    ]
    .map(|name| rows.all_ints(name));
    rows.each(babies, |baby, i| {
        baby.pieces.push(LinePiece {
            judged: (from[i], to[i]),
            ages: (ages_from[i], ages_to[i]),
            treatment: (treatment_from[i], treatment_to[i]),
            exchange: (exchange_from[i], exchange_to[i]),
        });
    });
    Ok(())
}
