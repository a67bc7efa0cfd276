//! The control chart of a figure over its months.

use std::collections::BTreeSet;

use crate::month::Month;
use crate::notes::{Note, Notes};
use crate::queries::figure_kinds::kind_of;
use crate::queries::figures::{Figure, Quantity};
use crate::queries::valued::RATE_PER_BIRTHS;
use crate::statistics::control::chart::{Chart, Kind, Scale, Series};

/// A figure's chart, with the months its indices mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Charted {
    /// Name of the figure.
    pub measure: String,
    /// The months, in order.
    pub months: Vec<Month>,
    /// Numerator and denominator by month; `None` where there is no data.
    pub counts: Vec<Option<(u64, u64)>>,
    /// What the statistics made of them.
    pub chart: Chart,
    /// Notes about the figure within these months.
    pub notes: Vec<Note>,
}

/// Whether a figure has a chart of its own: shares by the hour say what their median says, and limits
/// of agreement what their bias does.
pub fn has_chart(measure: &str) -> bool {
    kind_of(measure).is_some_and(|kind| kind.has_chart)
}

impl Charted {
    /// The chart of the network's figures of one name, which come in order of months; months in
    /// `gaps` were delivered in part and count as without data. `None` for a figure without a chart.
    pub fn of(measure: &str, figures: &[&Figure], gaps: &BTreeSet<String>, notes: &Notes) -> Option<Self> {
        if !has_chart(measure) {
            return None;
        }
        let has_data = |f: &&Figure| !gaps.contains(&f.month);
        let months: Vec<Month> = figures.iter().map(|f| f.month.parse().ok()).collect::<Option<_>>()?;
        let counts: Vec<Option<(u64, u64)>> = figures
            .iter()
            .map(|f| f.numerator.zip(f.denominator).filter(|_| has_data(f)))
            .collect();
        let values: Vec<Option<f64>> = figures.iter().map(|f| f.value.filter(|_| has_data(f))).collect();
        let series = match Quantity::of(measure) {
            Quantity::Share => Series::Proportions(&counts),
            Quantity::PerThousandBirths => Series::Rates {
                months: &counts,
                per: RATE_PER_BIRTHS,
            },
            Quantity::Hours => Series::Values {
                months: &values,
                scale: Scale::LongTail,
            },
            Quantity::Concentration => Series::Values {
                months: &values,
                scale: Scale::Plain,
            },
        };
        let of_span = |note: &&Note| months.first() <= Some(&note.month) && Some(&note.month) <= months.last();
        let notes: Vec<Note> = notes.about(measure).filter(of_span).cloned().collect();
        let place = |note: &Note| months.iter().position(|month| *month == note.month);
        let phases: Vec<usize> = notes.iter().filter(|note| note.new_phase).filter_map(place).collect();
        let provisional: Vec<bool> = figures.iter().map(|f| f.may_still_change()).collect();
        let chart = Chart::of(series, &phases, &provisional);
        Some(Self {
            measure: measure.to_owned(),
            months,
            counts,
            chart,
            notes,
        })
    }

    /// Whether a rule could have fired anywhere.
    pub fn is_judged(&self) -> bool {
        let is_judged = |kind: Kind| !matches!(kind, Kind::TooFew(_));
        self.chart.phases.iter().any(|phase| is_judged(phase.kind))
    }
}
