//! The table of the committee's page: month and twelve months side by side.

use serde::Serialize;

use crate::month::Month;
use crate::privacy::shown::Shown;
use crate::queries::explain::measure_of;
use crate::queries::figure_kinds::kind_of;
use crate::queries::figures::{Figure, Quantity};
use crate::queries::valued::RATE_PER_BIRTHS;
use crate::statistics::Interval;
use crate::statistics::poisson;
use crate::statistics::proportion::wilson;

use super::super::attention::Attention;
use super::super::target::Target;
use super::super::{figure_row, numbers, verdict, words};
use super::data::CommitteeData;
use super::released::{Count, Released, year_to};

/// Figures of the page in their order; see [`words::is_named`].
pub(super) const FIGURES: [&str; 14] = [
    "screening_coverage",
    "missed_referral",
    "referral_in_time",
    "time_to_serum_median",
    "time_to_treatment",
    "treatment_below_line",
    "recheck_adherence_near_line",
    "recheck_adherence_rebound",
    "recheck_adherence_discharge_gap",
    "jaundice_readmission_",
    "severe_jaundice_above_340",
    "severe_jaundice_above_exchange_line",
    "dangerous_miss",
    "meter_checks",
];

/// One figure as the committee sees it.
pub(super) struct CommitteeFigure<'a> {
    /// Its name in the results.
    pub measure: &'a str,
    /// What may be shown of its months; nothing of a median.
    pub released: Released,
    /// The figure over twelve months: its interval goes by babies where cases come in clusters.
    year: Option<&'a Figure>,
    /// How much it needs to be looked at.
    pub attention: Attention,
    /// What the protocol wants it to be; nothing of a figure whose twelve months are hidden.
    pub target: Option<Target>,
}

/// A row of the page.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Row {
    /// In words.
    pub name: String,
    /// The month alone.
    pub month: Cell,
    /// Twelve months.
    pub year: Cell,
    /// The twelve months to the quarter before: their figure, or empty.
    pub before: String,
    /// `at least 90 %`, or empty.
    pub target: String,
    /// In a few words.
    pub verdict: String,
    /// To be set in bold.
    pub is_grave: bool,
}

/// A figure that may be hidden.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub(super) struct Cell {
    /// `8 %`, `hidden` or `no data`.
    pub value: String,
    /// `4 to 15 %`, or empty.
    pub interval: String,
    /// `9 of 112`, or empty.
    pub count: String,
}

/// The figures of the page that the protocol asks for and the audience may see.
pub(super) fn committee_figures<'a>(data: &'a CommitteeData<'_>) -> Vec<CommitteeFigure<'a>> {
    let month = data.month.to_string();
    let named = FIGURES.iter().filter_map(|stem| {
        let mut of_month = data.figures.iter().rev();
        of_month.find(|f| f.split == "all" && f.month == month && words::is_named(&f.measure, stem))
    });
    let is_for_them = |figure: &&Figure| {
        data.audience.is_none_or(|measures| {
            measure_of(&figure.measure).is_some_and(|query| measures.iter().any(|name| name == query.name))
        })
    };
    named
        .filter(is_for_them)
        .map(|now| {
            let measure = now.measure.as_str();
            let year = data.year.iter().find(|f| f.split == "all" && f.measure == measure);
            let released = Released::of(counts_behind(measure), data.figures, data.hide_below);
            // Whether a hidden figure keeps its target would say something of the figure.
            let is_shown = matches!(released.shown(year_to(data.month, data.first)), Some(Shown::Value(_)));
            let target = data.about.targets.get(measure).copied().filter(|_| is_shown);
            CommitteeFigure {
                measure,
                released,
                attention: Attention::of(now, data.signals.get(measure), year, target),
                year,
                target,
            }
        })
        .collect()
}

/// The figure whose counts a median rests on.
fn counts_behind(measure: &str) -> &str {
    match measure {
        "time_to_serum_median" => "missed_referral",
        other => other,
    }
}

impl CommitteeFigure<'_> {
    /// The row of the table.
    pub(super) fn row(&self, data: &CommitteeData<'_>) -> Row {
        let month = (data.month, data.month);
        let year = year_to(data.month, data.first);
        let before = year.1.plus(-3);
        let signalled = data.signals.get(self.measure);
        let short = signalled.map(verdict::short).unwrap_or_default();
        let is_missed = self.attention == Attention::TargetMissed;
        Row {
            name: words::figure(self.measure),
            month: self.cell(month, self.now(data)),
            year: self.cell(year, self.year),
            before: match before < data.first || self.is_median() {
                true => String::new(),
                false => self.cell(year_to(before, data.first), None).value,
            },
            target: self.target.map_or_else(String::new, Target::bound_in_words),
            is_grave: self.attention <= Attention::TargetMissed,
            verdict: match is_missed {
                true if short == "no signal" => "target missed".to_owned(),
                true => format!("target missed, {short}"),
                false => short,
            },
        }
    }

    /// The figure over twelve months, as it may be shown; `None` when it is hidden.
    pub(super) fn year_in_words(&self, data: &CommitteeData<'_>) -> Option<Cell> {
        let cell = self.cell(year_to(data.month, data.first), self.year);
        (!cell.count.is_empty() || self.is_median() && cell.value != HIDDEN).then_some(cell)
    }

    fn now<'d>(&self, data: &'d CommitteeData<'_>) -> Option<&'d Figure> {
        let month = data.month.to_string();
        let mut all = data.figures.iter();
        all.find(|f| f.split == "all" && f.measure == self.measure && f.month == month)
    }

    fn is_median(&self) -> bool {
        Quantity::of(self.measure) == Quantity::Hours
    }

    /// The figure of a span. Its interval is that of `figure` where its cases come in clusters, else
    /// that of its counts.
    fn cell(&self, span: (Month, Month), figure: Option<&Figure>) -> Cell {
        match self.released.shown(span) {
            None => Cell {
                value: "no data".to_owned(),
                ..Cell::default()
            },
            Some(Shown::Hidden) => Cell {
                value: HIDDEN.to_owned(),
                ..Cell::default()
            },
            Some(Shown::Value(_)) if self.is_median() => median(figure),
            Some(Shown::Value(count)) => counted(self.measure, count, figure),
        }
    }
}

/// A quarter of a chart, or a group.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct SpanRow {
    /// `Jul to Sep 26`, or the group's name.
    pub name: String,
    /// `9 of 112`, `hidden` or `no data`.
    pub count: String,
    /// `8 %`, or empty.
    pub value: String,
    /// `4 to 15 %`, or empty.
    pub interval: String,
}

/// The interval of a share that may be shown: Wilson's of its counts, or, where cases come in clusters,
/// that of the figure of the same span, which allows for them; nothing of clusters without it.
pub(super) fn interval_of(measure: &str, (n, of): Count, figure: Option<&Figure>) -> Option<Interval> {
    if kind_of(measure).is_none_or(|kind| kind.clusters.is_none()) {
        return wilson(n, of);
    }
    let (lower, upper) = figure?.lower.zip(figure?.upper)?;
    Some(Interval { lower, upper })
}

/// The row of a quarter or group, as it may be shown; `figure` is that of the same span.
pub(super) fn span_row(measure: &str, name: String, shown: Option<Shown<Count>>, figure: Option<&Figure>) -> SpanRow {
    let (count, value, interval) = match shown {
        None => ("no data".to_owned(), String::new(), String::new()),
        Some(Shown::Hidden) => (HIDDEN.to_owned(), String::new(), String::new()),
        Some(Shown::Value((n, of))) => (
            format!("{} of {}", numbers::count(n), numbers::count(of)),
            match of {
                0 => String::new(),
                _ => figure_row::value(measure, n as f64 / of as f64, of),
            },
            interval_of(measure, (n, of), figure)
                .map_or_else(String::new, |interval| figure_row::interval(measure, interval, of)),
        ),
    };
    SpanRow {
        name,
        count,
        value,
        interval,
    }
}

/// What stands in place of a hidden figure.
pub(super) const HIDDEN: &str = "hidden";

/// A median of the cases of a span that may be shown.
fn median(figure: Option<&Figure>) -> Cell {
    let Some(figure) = figure.filter(|figure| figure.value.is_some()) else {
        return Cell {
            value: "no data".to_owned(),
            ..Cell::default()
        };
    };
    let row = figure_row::row(figure, "", false);
    Cell {
        value: row.value,
        interval: row.interval,
        count: String::new(),
    }
}

fn counted(measure: &str, (n, of): Count, figure: Option<&Figure>) -> Cell {
    if of == 0 {
        return Cell {
            value: "no case".to_owned(),
            ..Cell::default()
        };
    }
    let share = n as f64 / of as f64;
    // Births stand beside other figures: together they would give small numbers back.
    if Quantity::of(measure) == Quantity::PerThousandBirths {
        let exact = poisson::exact(n);
        let per_births = |n: f64| RATE_PER_BIRTHS * n / of as f64;
        let interval = Interval {
            lower: per_births(exact.lower),
            upper: per_births(exact.upper),
        };
        return Cell {
            value: figure_row::value(measure, per_births(n as f64), of),
            interval: figure_row::interval(measure, interval, of),
            count: numbers::count(n),
        };
    }
    let interval = interval_of(measure, (n, of), figure);
    Cell {
        value: figure_row::value(measure, share, of),
        interval: interval.map_or_else(String::new, |interval| figure_row::interval(measure, interval, of)),
        count: format!("{} of {}", numbers::count(n), numbers::count(of)),
    }
}
