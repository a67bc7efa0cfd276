//! Network, load, protocol and targets, for the first line and the footer of a page.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::error::Error;
use crate::intake::time;
use crate::month::Month;
use crate::pages::about::About;
use crate::pages::target::Target;
use crate::protocol::{UMOL_L_PER_MG_DL, Version};
use crate::queries::catalogue::intake;
use crate::queries::measure::Measuring;
use crate::queries::{DataEnd, MEASURED_TABLES};

use super::records::ledger_lines;

/// The facts of a month.
pub(super) async fn about(measuring: &Measuring<'_>, month: Month) -> Result<About, Error> {
    let (session, protocol) = (measuring.session, measuring.protocol);
    let load = measuring.load;
    let ends: Vec<DataEnd> = session.rows(intake::data_ends, &[]).await?;
    let measured = ends
        .iter()
        .filter(|end| MEASURED_TABLES.contains(&end.table_name.as_str()));
    let earliest = measured.map(|end| end.through_s).min();
    let versions = protocol.versions_of(month);
    let last_load = ledger_lines(session).await?.iter().map(|line| line.loaded_at_s).max();
    let written = |at: Option<i64>| at.map_or_else(|| "an unknown time".to_owned(), |at| in_words(at, protocol.zone()));
    let newest = protocol.newest();
    Ok(About {
        network: protocol.network().to_owned(),
        complete_through: written(earliest),
        ends_early: earliest < time::day_begins_s(month.plus(1).first_day(), protocol.zone()),
        load,
        loaded_at: written(last_load),
        protocol_changed: versions.len() > 1,
        protocol: measuring.protocol_of(month),
        zone: protocol.zone().iana_name().unwrap_or_default().to_owned(),
        factor: UMOL_L_PER_MG_DL.to_string(),
        siskin: env!("CARGO_PKG_VERSION").to_owned(),
        follow_up: format!("{} hours", newest.referral.follow_up_h),
        targets: versions.last().map(targets).unwrap_or_default(),
    })
}

/// What a version wants its figures to be.
fn targets(version: &Version) -> BTreeMap<String, Target> {
    let each = version.targets.iter().map(|target| {
        let share = |percent: Option<f64>| percent.map(|percent| percent / 100.0);
        let target_of = Target {
            at_most: share(target.at_most_percent),
            at_least: share(target.at_least_percent),
        };
        (target.figure.clone(), target_of)
    });
    each.collect()
}

/// An instant on the warehouse's wall clock; midnight as the end of its day.
fn in_words(at_s: i64, zone: &TimeZone) -> String {
    let Ok(at) = Timestamp::from_second(at_s) else {
        return at_s.to_string();
    };
    let local = zone.to_datetime(at);
    let is_midnight = local.hour() == 0 && local.minute() == 0;
    match local.date().yesterday() {
        Ok(day) if is_midnight => format!("{}, 24:00", day.strftime("%-d %B %Y")),
        _ => local.strftime("%-d %B %Y, %H:%M").to_string(),
    }
}
