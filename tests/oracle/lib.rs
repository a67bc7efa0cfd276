//! The oracle: the measures computed with plain loops over raw CSV rows.
//!
//! Written to be obviously right, not fast: every baby is walked on its own,
//! each rule by a scan over that baby's rows. Nothing here is shared with the
//! SQL it checks. "Choice n" in a comment is a numbered decision of the
//! project; everything else quoted is a sentence of the trade's definitions.
mod balance;
pub(crate) mod courses;
pub(crate) mod coverage;
pub(crate) mod data_end;
pub(crate) mod facts;
mod failed_specimens;
mod figure;
mod going_home;
pub(crate) mod judge;
mod line;
pub(crate) mod linked_back;
mod manners;
mod meters;
pub(crate) mod moment;
mod outside_limits;
pub(crate) mod pairs;
pub(crate) mod read;
pub(crate) mod readmission;
pub(crate) mod recheck;
pub(crate) mod referral;
pub(crate) mod rises;
pub(crate) mod rules;
mod severe;
pub(crate) mod stays;
#[cfg(test)]
mod tests;
pub(crate) mod time_to_serum;
pub(crate) mod treatment;
pub(crate) mod value;
pub(crate) mod versions;
pub(crate) mod view;

pub use balance::{Balance, balance};
pub use figure::Figure;
pub use line::Lines;
pub use linked_back::LinkRow;
pub use read::Load;
pub use rises::RiseRow;
pub use rules::{Rules, UnknownRisk};

/// One pair, as a row.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PairRow {
    /// The baby.
    pub infant_id: String,
    /// The screen.
    pub screen_id: String,
    /// The serum.
    pub specimen_id: String,
    /// TcB - TSB, micro-umol/L.
    pub difference_micro: i64,
    /// Whether it is the baby's earliest pair.
    pub is_first_of_baby: bool,
}

/// A network with all its loads taken as known; to look back, pass only the first loads.
pub struct Network<'a> {
    rules: &'a Rules,
    zone: moment::Zone,
    register: versions::Register,
    ends: data_end::Ends,
}

type Measure = fn(&[view::View], &Rules, &moment::Zone, &figure::Asked) -> Vec<Figure>;

impl<'a> Network<'a> {
    /// Reads the rows of the loads.
    pub fn new(loads: &[Load], rules: &'a Rules) -> Self {
        let zone = moment::Zone::named(&rules.zone);
        let rows = read::rows(loads, &zone);
        Self {
            rules,
            register: versions::register(&rows, &zone),
            ends: data_end::complete_through(loads, &rows, &zone),
            zone,
        }
    }

    /// Every baby at the data end of these tables.
    fn views(&self, tables: &[&str]) -> Vec<view::View<'_>> {
        let data_end = data_end::data_end(&self.ends, tables);
        view::views(&self.register, data_end, self.rules, &self.zone)
    }

    /// Every figure of one local month, `YYYY-MM` in the zone of the rules: of the network, of
    /// each unit, and of each other group.
    pub fn figures(&self, month: &str) -> Vec<Figure> {
        self.figures_of(&[month.to_owned()])
    }

    /// Every figure of several months.
    pub fn figures_of(&self, months: &[String]) -> Vec<Figure> {
        let mut all = Vec::new();
        for (tables, measure) in [
            (&data_end::FIVE_TABLES[..], coverage::figures as Measure),
            (&data_end::FIVE_TABLES[..], referral::figures),
            (&data_end::FIVE_TABLES[..], referral::off_limit_figures),
            (&data_end::FIVE_TABLES[..], time_to_serum::figures),
            (&data_end::TREATMENT_TABLES[..], treatment::figures),
            (&data_end::TREATMENT_TABLES[..], treatment::below_line_figures),
            (&data_end::FIVE_TABLES[..], recheck::figures),
            (&data_end::READMISSION_TABLES[..], readmission::figures),
            (&data_end::SERUM_TABLES[..], severe::serum_figures),
            (&data_end::FIVE_TABLES[..], rises::figures),
            (&data_end::EXCHANGE_TABLES[..], severe::exchange_figures),
            (&data_end::CODE_TABLES[..], severe::code_figures),
            (&data_end::FIVE_TABLES[..], pairs::figures),
            (&data_end::FIVE_TABLES[..], pairs::bias_figures),
            (&data_end::SCREEN_TABLES[..], outside_limits::figures),
            (&data_end::SPECIMEN_TABLES[..], failed_specimens::figures),
        ] {
            all.extend(self.measured(tables, months, |views, asked| {
                measure(views, self.rules, &self.zone, asked)
            }));
        }
        let tables = &data_end::METER_TABLES;
        let end = data_end::data_end(&self.ends, tables);
        all.extend(self.measured(tables, months, |views, asked| {
            meters::figures(views, &self.register, end, self.rules, &self.zone, asked)
        }));
        all
    }

    /// What a measure says of each month, at the data end of the tables it needs.
    fn measured(
        &self,
        tables: &[&str],
        months: &[String],
        measure: impl Fn(&[view::View], &figure::Asked) -> Vec<Figure>,
    ) -> Vec<Figure> {
        let views = self.views(tables);
        let of_month = |month: &String| {
            let has_data = data_end::has_data(&self.register, &self.ends, tables, month, &self.zone);
            measure(&views, &figure::Asked { month, has_data })
        };
        months.iter().flat_map(of_month).collect()
    }

    /// The times to serum of several months.
    pub fn times_to_serum(&self, months: &[String]) -> Vec<Figure> {
        self.measured(&data_end::FIVE_TABLES, months, |views, asked| {
            time_to_serum::figures(views, self.rules, &self.zone, asked)
        })
    }

    /// The pairs of all months, in order.
    pub fn pairs(&self) -> Vec<PairRow> {
        let mut rows = Vec::new();
        for view in self.views(&data_end::FIVE_TABLES) {
            for pair in pairs::pairs(&view, self.rules) {
                rows.push(PairRow {
                    infant_id: view.infant_id.clone(),
                    screen_id: pair.screen.id,
                    specimen_id: pair.serum.id,
                    difference_micro: pair.difference_micro,
                    is_first_of_baby: pair.is_first_of_baby,
                });
            }
        }
        rows.sort();
        rows
    }

    /// The rises of all months that are flagged, in order.
    pub fn rises(&self) -> Vec<RiseRow> {
        let views = self.views(&data_end::FIVE_TABLES);
        let mut rows: Vec<RiseRow> = views.iter().flat_map(|view| rises::rises(view, self.rules)).collect();
        rows.sort();
        rows
    }

    /// The cases of all months with what came before them, in order.
    pub fn linked_back(&self) -> Vec<LinkRow> {
        let by_baby = |tables: &[&str]| {
            let views = self.views(tables).into_iter();
            views.map(|view| (view.infant_id.clone(), view)).collect()
        };
        let views = linked_back::Views {
            five: by_baby(&data_end::FIVE_TABLES),
            readmission: by_baby(&data_end::READMISSION_TABLES),
            treatment: by_baby(&data_end::TREATMENT_TABLES),
            screens: by_baby(&data_end::SCREEN_TABLES),
            serum: by_baby(&data_end::SERUM_TABLES),
            exchanges: by_baby(&data_end::EXCHANGE_TABLES),
            codes: by_baby(&data_end::CODE_TABLES),
        };
        let mut rows = linked_back::linked_back(&views, self.rules);
        rows.sort();
        rows
    }
}
