//! What was invented and how, as `planted.json` holds it: the parameters, and each effect that is
//! there besides chance.

use std::fs;
use std::path::Path;

use serde::Serialize;
use serde_json::{Value, json};

use super::error::InventError;
use super::world::{Options, World};

/// What was invented.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Invented {
    /// The seed.
    pub seed: u64,
    /// Births in each month.
    pub births_per_month: u32,
    /// The first month, as `2026-04`.
    pub first_month: String,
    /// The last month.
    pub last_month: String,
    /// The time zone.
    pub zone: String,
    /// Data end of every table, in local time with offset.
    pub data_end: String,
    /// What the simulation puts in besides chance.
    pub planted: Vec<Planted>,
    /// All parameters of the simulation.
    pub scenario: Value,
}

impl Invented {
    pub(super) fn of(world: &World, options: &Options) -> Result<Invented, InventError> {
        let scenario = serde_json::to_value(&world.scenario).map_err(|error| InventError::Scenario {
            reason: error.to_string(),
        })?;
        let calendar = &world.calendar;
        Ok(Invented {
            seed: options.seed,
            births_per_month: options.births_per_month,
            first_month: calendar.name(0).to_owned(),
            last_month: calendar.name(calendar.months() - 1).to_owned(),
            zone: world.rules.zone.clone(),
            data_end: calendar.with_offset(calendar.data_end_s()),
            planted: planted(world),
            scenario,
        })
    }

    pub(super) fn write(&self, path: &Path) -> Result<(), InventError> {
        let text = serde_json::to_string_pretty(self).map_err(|source| InventError::Json {
            path: path.to_path_buf(),
            source,
        })?;
        fs::write(path, text + "\n").map_err(InventError::io("write", path))
    }
}

/// One effect.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Planted {
    /// Its name.
    pub effect: &'static str,
    /// What happens, in a sentence.
    pub what: &'static str,
    /// The unit it happens in; none when in all.
    pub unit: Option<String>,
    /// The first month of it, as `2025-10`; none when in all.
    pub from: Option<String>,
    /// The first month without it again; none when it lasts.
    pub until: Option<String>,
    /// Its parameters, as the scenario names them.
    pub parameters: Value,
    /// Figures that it moves.
    pub moves: &'static [&'static str],
}

/// The effects that happen within the months of an invention.
fn planted(world: &World) -> Vec<Planted> {
    let scenario = &world.scenario;
    let unit = |unit: usize| Some(scenario.units[unit].name.clone());
    let month = |month: usize| (month < world.calendar.months()).then(|| world.calendar.name(month).to_owned());
    let meter = |meter: usize| format!("M{:02}", meter + 1);
    let first = world.network.first_meter(scenario.drift.unit);
    let always = |effect, what, parameters, moves| Planted {
        effect,
        what,
        unit: None,
        from: None,
        until: None,
        parameters,
        moves,
    };
    let from = |from: usize, until: Option<usize>, planted: Planted| {
        let from = month(from)?;
        Some(Planted {
            from: Some(from),
            until: until.and_then(month),
            ..planted
        })
    };
    let (improvement, drift, rebound) = (&scenario.improvement, &scenario.drift, &scenario.weak_rebound);
    let (batch, late, unchecked) = (&scenario.wrong_unit, &scenario.late_corrections, &scenario.unchecked);
    let all = [
        Some(always(
            "late_night",
            "at night serum is drawn later, and late or never more often",
            json!(scenario.night),
            &["missed_referral", "referral_in_time", "time_to_serum"],
        )),
        from(
            improvement.from_month,
            None,
            always(
                "intervention",
                "serum is drawn sooner, and late or never less often, from a month on",
                json!(improvement),
                &["missed_referral", "referral_in_time", "time_to_serum"],
            ),
        ),
        from(
            drift.from_month,
            Some(drift.replaced_in_month),
            Planted {
                unit: unit(drift.unit),
                ..always(
                    "drifting_meter",
                    "one meter reads higher every month, until another takes its place",
                    json!({
                        "meter": meter(first), "replaced_by": meter(world.network.in_use(first, drift.replaced_in_month)),
                        "per_month_umol_l": drift.per_month_umol_l,
                    }),
                    &["meter_agreement"],
                )
            },
        ),
        Some(always(
            "under_read_skin",
            "the meters read low on dark skin",
            json!({"skin_tone": "dark", "bias_umol_l": scenario.meters.dark_bias_umol_l}),
            &["meter_agreement"],
        )),
        Some(Planted {
            unit: unit(rebound.unit),
            ..always(
                "weak_rebound",
                "one unit checks less often in time after phototherapy",
                json!({"on_time": rebound.on_time, "on_time_elsewhere": scenario.treatment.rebound_on_time}),
                &["recheck_adherence_rebound"],
            )
        }),
        from(
            batch.month,
            Some(batch.month + 1),
            Planted {
                unit: unit(batch.unit),
                ..always(
                    "wrong_unit",
                    "a batch of readings in umol/L is labelled mg/dL, and has to be set aside",
                    json!({"days": batch.days}),
                    &["record_quality"],
                )
            },
        ),
        Some(always(
            "late_corrections",
            "the laboratory corrects results weeks later: figures of past months are restated",
            json!(late),
            &["recheck_adherence"],
        )),
        Some(always(
            "duplicates",
            "rows are delivered twice",
            json!({"share": scenario.records.duplicate}),
            &["record_quality"],
        )),
        from(
            unchecked.month,
            Some(unchecked.month + 1),
            Planted {
                unit: unit(unchecked.unit),
                ..always(
                    "missing_checks",
                    "one meter goes without its daily check",
                    json!({"meter": meter(world.network.nth_meter(unchecked.unit, 2)), "days": unchecked.days}),
                    &["meter_checks"],
                )
            },
        ),
    ];
    all.into_iter().flatten().collect()
}
