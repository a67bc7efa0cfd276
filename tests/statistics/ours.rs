//! Our answers to the inputs of the published cases, and to some odd ones (`odd.json`), written for
//! other programs to compare: `tests/outside/second_opinion`. What is expected is not read here.

mod agreement;
mod charts;
mod comparison;
mod counts;
mod regression;
mod survival;

use std::fmt::Write;
use std::path::Path;

use serde_json::{Value, json};
use siskin::statistics::{Interval, control};

type Method = fn(&mut Answers<'_>);

/// A method by the beginning of its cases' ids; of several the longest counts.
const METHODS: &[(&str, Method)] = &[
    ("binom_", counts::proportion),
    ("binomial_", counts::binomial),
    ("newcombe10_", counts::difference),
    ("poisson_exact_", counts::poisson),
    ("quantile_types_", counts::quantiles),
    ("median_ci_", counts::median),
    ("nist_numacc", counts::summaries),
    ("nist_michelso", counts::summaries),
    ("summary_", counts::summaries),
    ("student_", counts::student),
    ("welch_", counts::means),
    ("clustered_", counts::clusters),
    ("km_", survival::kaplan_meier),
    ("logrank_", survival::log_rank),
    ("cuminc_", survival::incidence),
    ("bland_altman_", agreement::limits),
    ("repeated_", agreement::repeated),
    ("lin_ccc_", agreement::concordance),
    ("deming_simple_", agreement::deming),
    ("passing_bablok_", agreement::passing_bablok),
    ("diagnostic_", agreement::diagnostic),
    ("roc_", agreement::roc),
    ("funnel_", comparison::funnel),
    ("indirect_standardisation_", comparison::indirect),
    ("p_chart_", charts::proportions),
    ("laney_pprime_", charts::proportions),
    ("c_chart_", charts::rates),
    ("u_chart_", charts::rates),
    ("laney_uprime_", charts::rates),
    ("xmr_", charts::individuals),
    ("g_chart_", charts::cases_between),
    ("t_chart_", charts::long_tail),
    ("run_chart_", charts::runs),
    ("run_chart_limits_", charts::run_limits),
    ("cusum_", charts::cusum),
    ("chain_", charts::chain),
    ("nist_norris", regression::line),
    ("line_", regression::line),
    ("nist_longley", regression::columns),
    ("its_", regression::interrupted),
    ("segments_proportions", regression::segments_of_proportions),
    ("segments_no_spread", regression::two_phases),
    ("segments_values", regression::segments_of_values),
];

#[test]
#[ignore = "writes a file where SISKIN_OURS names one, for tests/outside/second_opinion"]
fn our_answers_are_written_for_a_second_opinion() {
    let mut lines = String::new();
    for case in cases() {
        let id = case["id"].as_str().unwrap();
        let methods = METHODS.iter().filter(|(start, _)| id.starts_with(start));
        let (_, method) = methods.max_by_key(|(start, _)| start.len()).expect(id);
        let before = lines.len();
        method(&mut Answers {
            case: &case,
            lines: &mut lines,
        });
        assert!(lines.len() > before, "no answer to {id}");
    }
    if let Ok(path) = std::env::var("SISKIN_OURS") {
        std::fs::write(path, lines).unwrap();
    }
}

/// All cases: every file of `published/`, then the odd ones.
fn cases() -> Vec<Value> {
    let here = Path::new(file!()).parent().unwrap();
    let published = std::fs::read_dir(here.join("published")).unwrap();
    let mut files: Vec<_> = published.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.push(here.join("odd.json"));
    let cases = |file| serde_json::from_str::<Vec<Value>>(&std::fs::read_to_string(file).unwrap()).unwrap();
    files.into_iter().flat_map(cases).collect()
}

/// The inputs of one case, and the lines its answers become.
struct Answers<'a> {
    case: &'a Value,
    lines: &'a mut String,
}

impl Answers<'_> {
    fn input(&self, name: &str) -> &Value {
        &self.case["inputs"][name]
    }

    fn number(&self, name: &str) -> f64 {
        self.input(name).as_f64().expect(name)
    }

    fn count(&self, name: &str) -> u64 {
        self.input(name).as_u64().expect(name)
    }

    fn numbers(&self, name: &str) -> Vec<f64> {
        super::published::numbers(self.input(name))
    }

    fn counts(&self, name: &str) -> Vec<u64> {
        let list = self.input(name).as_array().expect(name);
        list.iter().map(|of| of.as_u64().expect(name)).collect()
    }

    fn pairs(&self, first: &str, second: &str) -> Vec<(f64, f64)> {
        let (first, second) = (self.numbers(first), self.numbers(second));
        assert_eq!(first.len(), second.len());
        first.into_iter().zip(second).collect()
    }

    /// Events and sizes; one size stands for all, none for 1.
    fn months(&self, events: &str, sizes: &str) -> Vec<(u64, u64)> {
        let events = self.counts(events);
        let sizes = match self.input(sizes) {
            Value::Array(_) => self.counts(sizes),
            one => vec![one.as_u64().unwrap_or(1); events.len()],
        };
        assert_eq!(events.len(), sizes.len());
        events.into_iter().zip(sizes).collect()
    }

    fn write(&mut self, what: &str, value: &Value) {
        writeln!(
            self.lines,
            "{}",
            json!({"case": self.case["id"], "what": what, "value": value})
        )
        .unwrap();
    }

    /// A number, or that there is none.
    fn say(&mut self, what: &str, value: impl Into<Option<f64>>) {
        let value = value.into();
        assert!(value.is_none_or(f64::is_finite), "{}, {what}", self.case["id"]);
        self.write(what, &json!(value));
    }

    /// Whole numbers or words that must be the same.
    fn exactly(&mut self, what: &str, value: impl Into<Value>) {
        self.write(what, &value.into());
    }

    fn each(&mut self, what: &str, values: impl IntoIterator<Item = f64>) {
        for (i, value) in values.into_iter().enumerate() {
            self.say(&format!("{what}[{i}]"), value);
        }
    }

    fn between<E: Ends>(&mut self, what: &str, of: Option<E>) {
        let ends = of.map(|of| of.ends());
        self.say(&format!("{what}.lower"), ends.map(|ends| ends.0));
        self.say(&format!("{what}.upper"), ends.map(|ends| ends.1));
    }
}

/// What has two ends.
trait Ends {
    fn ends(&self) -> (f64, f64);
}

impl Ends for Interval {
    fn ends(&self) -> (f64, f64) {
        (self.lower, self.upper)
    }
}

impl Ends for control::Limits {
    fn ends(&self) -> (f64, f64) {
        (self.lower, self.upper)
    }
}
