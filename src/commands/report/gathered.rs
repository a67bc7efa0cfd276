//! All that a month's pages are made from, read from a snapshot.

use std::collections::{BTreeMap, BTreeSet};

use crate::engine::Session;
use crate::error::Error;
use crate::month::Month;
use crate::notes::Notes;
use crate::pages::about::About;
use crate::pages::committee::{CommitteeData, QUARTERS, Reviews, half_to, quarters_to, year_to};
use crate::pages::dashboard::DashboardData;
use crate::pages::looked_back::LookedBackRow;
use crate::pages::records::{MendRow, Records, half_delivered};
use crate::protocol::Protocol;
use crate::queries::catalogue::{self, Query};
use crate::queries::explain::{Flow, measure_of};
use crate::queries::figure_kinds::kind_of;
use crate::queries::figure_names::all_figure_names;
use crate::queries::figures::Figure;
use crate::queries::measure::{Counted, Measuring};
use crate::queries::quality::{self, Finding};
use crate::queries::review::{self, Case};
use crate::queries::split::Split;
use crate::signals::agreement::{self, Agreed};
use crate::signals::between::{self, AllBetween};
use crate::signals::to_serum::{self, Curve};
use crate::signals::units::{self, AllUnits};
use crate::signals::{Signalled, Signals};
use crate::warehouse::Snapshot;

use crate::commands::output::Work;

use super::about::about;
use super::records;
use super::scope::Scope;

/// Months taken together beside the month: a month alone is often too small.
pub(super) const YEAR: i32 = 12;

/// What a month's pages are made from.
pub(super) struct Gathered {
    first: Month,
    month: Month,
    pub unit: Option<String>,
    /// Of each month up to the month: network and units.
    figures: Vec<Figure>,
    /// Of twelve months taken together: network and units.
    year: Vec<Figure>,
    /// Of twelve months taken together: the groups of each split.
    groups: Vec<Figure>,
    /// Of the twelve months to the last complete quarter taken together: the network.
    quarters_year: Vec<Figure>,
    /// Of the last complete half-year taken together: units, and groups by skin tone.
    half_groups: Vec<Figure>,
    /// Of each of the last complete quarters taken together, with its last month as its month: the
    /// network's figures whose intervals go by clusters.
    quarters: Vec<Figure>,
    /// The rows of `measures.json`.
    pub reported: Vec<Figure>,
    flows: BTreeMap<&'static str, Vec<Flow>>,
    pub signals: Signals,
    /// Those of the month before, by the same data.
    signals_before: Signals,
    pub agreed: Agreed,
    curve: Curve,
    pub units: AllUnits,
    between: AllBetween,
    looked_back: Vec<LookedBackRow>,
    /// Babies with severe jaundice of any kind in the month.
    severe: u64,
    about: About,
    pub records: Records,
}

impl Gathered {
    /// The figures that pages show.
    pub(super) fn shown_figures(&mut self) -> [&mut Vec<Figure>; 5] {
        [
            &mut self.figures,
            &mut self.year,
            &mut self.groups,
            &mut self.quarters_year,
            &mut self.half_groups,
        ]
    }

    /// Facts for the first line of a page.
    pub(super) fn about(&self) -> &About {
        &self.about
    }

    /// What the dashboard shows.
    pub(super) fn dashboard(&self, to_mend: Vec<MendRow>, has_cases: bool) -> DashboardData<'_> {
        DashboardData {
            figures: &self.figures,
            year: &self.year,
            groups: &self.groups,
            flows: &self.flows,
            month: self.month,
            unit: self.unit.as_deref(),
            has_cases,
            severe: self.severe,
            about: &self.about,
            looked_back: &self.looked_back,
            records: Records {
                to_mend,
                ..self.records.clone()
            },
            signals: &self.signals,
            agreed: &self.agreed,
            curve: &self.curve,
            units: &self.units,
            between: &self.between,
        }
    }

    /// What the committee is shown of it.
    pub(super) fn committee<'a>(&'a self, protocol: &'a Protocol, reviews: Option<Reviews>) -> CommitteeData<'a> {
        CommitteeData {
            first: self.first,
            month: self.month,
            figures: &self.figures,
            year: &self.quarters_year,
            half_groups: &self.half_groups,
            quarters: &self.quarters,
            about: &self.about,
            signals: &self.signals,
            signals_before: &self.signals_before,
            agreed: &self.agreed,
            records: &self.records,
            hide_below: protocol.suppression().hide_below,
            audience: protocol.audiences().committee.as_deref(),
            reviews,
        }
    }
}

/// Units, and groups by skin tone, of the last half-year that the months hold whole.
fn half_groups(all: &Counted<'_>, by_split: &Counted<'_>, first: Month, month: Month) -> Vec<Figure> {
    let half = half_to(month);
    if half.0 < first {
        return Vec::new();
    }
    let mut groups = Vec::new();
    for (counted, split) in [(all, None), (by_split, Some(Split::SkinTone))] {
        let together = counted.figures((half.1, half.1), Some(half.0), split).together;
        let name = split.map_or("unit", Split::word);
        groups.extend(together.into_iter().filter(|f| f.split == name));
    }
    groups
}

/// The network's figures whose intervals go by clusters, of each of the last quarters that the months
/// hold whole.
fn quarters(counted: &Counted<'_>, first: Month, month: Month) -> Vec<Figure> {
    let is_clustered = |name: &str| kind_of(name).is_some_and(|kind| kind.clusters.is_some());
    let held = quarters_to(month, QUARTERS)
        .into_iter()
        .filter(|(from, _)| *from >= first);
    let figures = held.flat_map(|(from, to)| counted.figures_of((to, to), Some(from), None, is_clustered).together);
    figures.filter(|figure| figure.split == "all").collect()
}

/// Reads all of it for the last of the months, in the scope.
pub(super) async fn gather(
    measuring: &Measuring<'_>,
    snapshot: &Snapshot,
    (first, month): (Month, Month),
    scope: &Scope<'_>,
    work: &Work,
) -> Result<Gathered, Error> {
    work.part("counting cases", 0);
    let (session, protocol) = (measuring.session, measuring.protocol);
    let unit = scope.parameter();
    let is_asked_for = |figure: &Figure| figure.measure != "screening_coverage" || has_coverage(protocol);
    let year_from = month.plus(1 - YEAR).max(first);
    let counted = measuring.count(Month::range(first, month), &[None]).await?;
    let all = counted.figures((first, month), Some(year_from), None);
    let (mut figures, mut year) = (scope.of(all.by_month)?, scope.of(all.together)?);
    figures.retain(is_asked_for);
    year.retain(is_asked_for);
    let name = month.to_string();
    let mut reported: Vec<Figure> = figures.iter().filter(|f| f.month == name).cloned().collect();
    let mut groups = Vec::new();
    let mut units = AllUnits::new();
    let by_split = measuring
        .count(Month::range(year_from, month), &Split::ALL.map(Some))
        .await?;
    for split in Split::ALL {
        let of_split = by_split.figures((month, month), Some(year_from), Some(split));
        // Groups within units are for `measure --by`: most of them hold a few babies a month.
        if split == Split::Gestation && scope.unit().is_none() {
            units = units::units(&of_split.together);
        }
        let is_wanted = |f: &Figure| f.split == split.word() && is_asked_for(f);
        reported.extend(scope.of_groups(of_split.by_month).into_iter().filter(is_wanted));
        groups.extend(scope.of_groups(of_split.together).into_iter().filter(is_wanted));
    }
    let reported = reported.into_iter().map(|figure| scope.as_written(figure)).collect();
    let dropped = measuring.dropped(month, unit).await?;
    let of_measure = |query: &Query| counted.flows(query, query.name, month, unit, &dropped);
    let flows = catalogue::measures()
        .iter()
        .map(|query| (query.name, of_measure(query)))
        .collect();
    let found = quality::stored(session).await?;
    let notes = Notes::parse(&snapshot.notes_text()?)?;
    let signals = signals_of(protocol, &figures, &found, &notes);
    let before = month.plus(-1).to_string();
    let earlier: Vec<Figure> = figures.iter().filter(|f| f.month <= before).cloned().collect();
    let signals_before = signals_of(protocol, &earlier, &found, &notes);
    let half_groups = match scope.unit() {
        None => half_groups(&counted, &by_split, first, month),
        Some(_) => Vec::new(),
    };
    let quarters = match scope.unit() {
        None => quarters(&counted, first, month),
        Some(_) => Vec::new(),
    };
    let of_year = year_to(month, first);
    let mut quarters_year = match scope.unit() {
        Some(_) => Vec::new(),
        None if of_year.1 == month => year.clone(),
        None if of_year.1 < of_year.0 => Vec::new(),
        None => counted.figures((of_year.1, of_year.1), Some(of_year.0), None).together,
    };
    quarters_year.retain(is_asked_for);
    work.part("comparing screens with serum", 0);
    Ok(Gathered {
        first,
        month,
        unit: scope.unit().map(str::to_owned),
        agreed: agreement::read(session, month, unit).await?,
        curve: to_serum::of(&by_split, month, scope.unit()),
        between: between::read(session, (first, month), unit).await?,
        looked_back: records::looked_back(session, month, unit).await?,
        severe: severe(session, month, scope.unit()).await?,
        about: about(measuring, month).await?,
        records: records_of(session, snapshot, (month, unit), &figures, found).await?,
        figures,
        year,
        groups,
        quarters_year,
        half_groups,
        quarters,
        reported,
        flows,
        signals,
        signals_before,
        units,
    })
}

/// Babies with severe jaundice of any kind: a baby may be in several bands.
async fn severe(session: &Session, month: Month, unit: Option<&str>) -> Result<u64, Error> {
    let cases = review::cases(session, month, month).await?;
    let is_severe = |case: &&Case| {
        case.finding.starts_with("severe_jaundice_") && case.finding != "severe_jaundice_near_exchange_line"
    };
    let is_own = |case: &&Case| unit.is_none_or(|unit| case.unit == unit);
    let babies: BTreeSet<&str> = cases
        .iter()
        .filter(is_severe)
        .filter(is_own)
        .map(|case| case.infant_id.as_str())
        .collect();
    Ok(babies.len() as u64)
}

fn has_coverage(protocol: &Protocol) -> bool {
    protocol.versions().iter().any(|version| version.coverage.is_some())
}

async fn records_of(
    session: &Session,
    snapshot: &Snapshot,
    (month, unit): (Month, &str),
    figures: &[Figure],
    findings: Vec<Finding>,
) -> Result<Records, Error> {
    Ok(Records {
        ledger: records::ledger(session, snapshot.manifest().load).await?,
        to_mend: Vec::new(),
        findings,
        unmapped: records::unmapped(session).await?,
        // What was reported as final is kept for the network.
        restated: match unit {
            "" => records::restated(session, month, figures).await?,
            _ => Vec::new(),
        },
        rises: records::rises(session, month, unit).await?,
        unknown_risk: records::unknown_risk(session, month, unit).await?,
        births: records::rows_of(snapshot, "births"),
        results: records::rows_of(snapshot, "screens") + records::rows_of(snapshot, "serum"),
    })
}

/// Chart and verdict of each figure of the network that has them.
fn signals_of(protocol: &Protocol, figures: &[Figure], found: &[Finding], notes: &Notes) -> Signals {
    let mut signals = Signals::new();
    for name in all_figure_names(protocol) {
        let Some(query) = measure_of(&name) else { continue };
        let of_network = |f: &&Figure| f.split == "all" && f.measure == name;
        let of_name: Vec<&Figure> = figures.iter().filter(of_network).collect();
        if of_name.is_empty() {
            continue;
        }
        let gaps = half_delivered(found, Some(query));
        if let Some(signalled) = Signalled::of(query, &name, &of_name, &gaps, notes) {
            signals.insert(name, signalled);
        }
    }
    signals
}
