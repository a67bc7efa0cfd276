//! The chart of one measure over months: which kind, which limits, which signals.
//!
//! **Phases.** A documented change starts a phase; each phase is a chart of its own. The first
//! [`BASELINE`] months of a phase that have data and are not provisional are its *baseline*: they
//! alone set centre and limits, and later months are judged against them. A baseline of 12 is
//! the least that is advised for first limits, and 20 or more are better (Provost LP, Murray SK
//! (2011) The Health Care Data Guide, from memory; common practice). Proportions and rates can do
//! with 12, since chance within a month tells their spread. Where the spread between months
//! has to be learnt too (Laney's limits, single values) 12 are so few that one steady chart
//! in five would signal within two years; there the baseline grows to [`BASELINE_OF_SPREAD`]
//! months as they come. A phase with fewer than 12 has no limits, only the run rules about its
//! median once ten values are off it; with fewer again it has nothing: too few.
//!
//! **Kind.** Proportions and rates have three-sigma limits by denominator, or exact ones in a
//! month where fewer than five events (or trials without one) are expected. Where the first 12
//! months differ by more than chance ([`super::dispersion`]) the limits are Laney's, with a sigma_z
//! not under 1; a month that needs exact limits then has the wider of both on either side. Where
//! nothing (or everything) happened in the baseline, its centre is 0 (or 1) and the limits are
//! those of one event (or one trial without) in it: no chance at all cannot be concluded.
//! Single values have individuals limits, cases between rare events exact geometric ones. Where all
//! values of the baseline are one there is no spread to set limits by: runs only, or too few.
//!
//! **Rules**, few on purpose, since each adds its own false signals:
//!
//! * *beyond limit*: a month strictly outside its limits; on every chart that has limits. Finds
//!   single strange months and large changes.
//! * *long run* and *few crossings* about the median of the phase ([`super::run_chart`]): on every
//!   chart with ten values off the median, at least 40 % of them on either side. Find lasting
//!   shifts and drifts.
//!
//! Runs are counted about the median, not the centre: they ask nothing of the distribution, so
//! they hold on skewed and small counts as well, where half of all values do not lie above the
//! mean. They do ask that a value be as likely above as below; where many values lie on the
//! median (months with 0 of a rare event) that fails, and simulated steady charts of half an
//! event a month signalled in 9 of 10 cases within four years. Hence the 40 %. Tests by zones and
//! a fixed run of eight or nine need nearly normal values and a known centre, and their false
//! signals grow with the length of the series; they are not used.
//!
//! **Provisional** months are drawn with their limits, but set none, fire no rule and do not
//! count in the median. Months without data are passed over.
//!
//! [`false_signals`] says how often a steady chart signals all the same.
//!
//! Degenerate cases: a month without trials or exposure, with more events than trials, or with a
//! value that is not finite (or a negative one on the scale of a long tail) counts as one without
//! data. No months give no phases. Phase starts outside the series are passed over, as are
//! provisional marks; months without a mark are final.

pub mod false_signals;
mod fitted;
mod model;
mod parts;
mod phase;
mod signals;

pub use self::fitted::{BASELINE, BASELINE_OF_SPREAD};
pub use self::parts::{Kind, Month, Phase, Rule, Scale, Series, Signal, Why};

/// A whole chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// Every month of the series.
    pub months: Vec<Month>,
    /// The phases, in order; at least one unless there are no months.
    pub phases: Vec<Phase>,
    /// All signals, by first month.
    pub signals: Vec<Signal>,
}

impl Chart {
    /// The chart of a series.
    ///
    /// `phases` are the indices of months at which a documented change starts another phase;
    /// `provisional` marks months that may still change.
    ///
    /// ```
    /// use siskin::statistics::control::Side;
    /// use siskin::statistics::control::chart::{Chart, Kind, Rule, Series};
    /// let mut months = vec![Some((20, 200)); 13];
    /// months[12] = Some((60, 200));
    /// let chart = Chart::of(Series::Proportions(&months), &[], &[]);
    /// assert_eq!(chart.phases[0].kind, Kind::P);
    /// let signal = chart.signals[0];
    /// assert_eq!((signal.rule, signal.first, signal.side), (Rule::BeyondLimit, 12, Some(Side::Above)));
    /// ```
    pub fn of(series: Series<'_>, phases: &[usize], provisional: &[bool]) -> Chart {
        let cells = model::cells(series);
        let mut starts: Vec<usize> = phases.iter().copied().filter(|start| *start < cells.len()).collect();
        starts.push(0);
        starts.sort_unstable();
        starts.dedup();
        let mut chart = Chart {
            months: Vec::with_capacity(cells.len()),
            phases: Vec::new(),
            signals: Vec::new(),
        };
        if cells.is_empty() {
            return chart;
        }
        let ends = starts.iter().skip(1).copied().chain([cells.len()]);
        for (start, end) in starts.iter().copied().zip(ends) {
            let (phase, months, signals) = phase::drawn(series, &cells, start..end, provisional, chart.phases.len());
            chart.phases.push(phase);
            chart.months.extend(months);
            chart.signals.extend(signals);
        }
        chart.signals.sort_by_key(|signal| (signal.first, signal.rule));
        chart
    }

    /// Probability of at least one signal on the whole chart were nothing changed.
    pub fn false_signal(&self) -> f64 {
        1.0 - self
            .phases
            .iter()
            .map(|phase| 1.0 - phase.false_signal)
            .product::<f64>()
    }
}
