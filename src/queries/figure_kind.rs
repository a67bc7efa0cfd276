//! What a figure is, as the header of its measure says: what it is called, its quantity, what is
//! counted, and whether it has a chart.

use crate::words::words;

use super::header::HeaderError;
use super::query::Query;

words! {
    /// What the cases of a figure come in, where those of one are alike: its interval goes by them.
    pub Clusters {
        /// Cases of one baby.
        Babies = "babies",
        /// Readings of one meter on one local day, which the same checks verify.
        MeterDays = "meter-days",
    }
}

/// What the value of a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// A share from 0 to 1.
    Share,
    /// Hours.
    Hours,
    /// Cases for each thousand births.
    PerThousandBirths,
    /// umol/L.
    Concentration,
}

/// A figure, or all those of a name with a `*`, one for each rule, band, day or hour.
#[derive(Clone, Debug)]
pub struct FigureKind {
    pub(super) name: String,
    /// By name: its own, and those of some that the star of its name stands for.
    labels: Vec<(String, String)>,
    /// The measure that gives it.
    pub measure: &'static str,
    /// What its value is.
    pub quantity: Quantity,
    /// A share by an hour: estimated over time, not its numerator out of its denominator.
    pub is_by_hour: bool,
    /// Whether it has a chart of its own.
    pub has_chart: bool,
    /// What its denominator counts, in a word: `referrals`.
    pub cases: String,
    /// What its cases come in; `None` where each is taken alone.
    pub clusters: Option<Clusters>,
}

/// The figures of a measure, as its header describes them.
///
/// # Errors
/// When a formula cannot be read, or a figure has no label, no word for its cases, an unknown quantity or
/// unknown clusters, or has clusters and is neither proportion nor time.
pub fn kinds(query: &Query) -> Result<Vec<FigureKind>, HeaderError> {
    let header = &query.header;
    let labels = header.labels();
    let kind = |name: &str| {
        let wrong = |why: &str| HeaderError {
            file: query.name.to_owned(),
            line: 1,
            why: format!("{name} {why}"),
        };
        let (quantity, is_by_hour) = match header.of_figure("quantity", name) {
            "share" => (Quantity::Share, false),
            "share by hour" => (Quantity::Share, true),
            "hours" => (Quantity::Hours, false),
            "per thousand births" => (Quantity::PerThousandBirths, false),
            "umol/L" => (Quantity::Concentration, false),
            _ => return Err(wrong("has an unknown quantity")),
        };
        if header.of_figure("cases", name).is_empty() {
            return Err(wrong("does not say what its cases are"));
        }
        let clusters = match header.of_figure("clusters", name) {
            "" | "none" => None,
            word => {
                let known = Clusters::ALL.into_iter().find(|clusters| clusters.word() == word);
                if !["proportion", "time"].contains(&header.get("kind")) {
                    return Err(wrong("has clusters, which only proportions and times have"));
                }
                Some(known.ok_or_else(|| wrong("has unknown clusters"))?)
            }
        };
        Ok(FigureKind {
            name: name.to_owned(),
            labels: match labels.iter().any(|(label, _)| label == name) {
                true => labels.clone(),
                false => return Err(wrong("has no label")),
            },
            measure: query.name,
            quantity,
            is_by_hour,
            has_chart: header.of_figure("chart", name) != "none",
            cases: header.of_figure("cases", name).to_owned(),
            clusters,
        })
    };
    let figures = header.figures();
    let texts = header
        .get("figures")
        .split(';')
        .map(str::trim)
        .filter(|text| !text.is_empty());
    for text in texts {
        let name = text.split('=').next().unwrap_or_default().trim();
        if !figures.iter().any(|figure| figure.name == name) {
            return Err(HeaderError {
                file: query.name.to_owned(),
                line: 1,
                why: format!("'{text}' is not 'name = part + part / part + part'"),
            });
        }
    }
    figures.iter().map(|figure| kind(figure.name)).collect()
}

impl FigureKind {
    /// A share that is its numerator out of its denominator.
    pub fn is_plain_share(&self) -> bool {
        self.quantity == Quantity::Share && !self.is_by_hour
    }

    /// What a figure so made is called. `{name}` in the label is what the star of the name stands
    /// for, `{number}` its number, `{band}` a band of values.
    pub fn label_of(&self, name: &str) -> String {
        let label = |wanted: &str| self.labels.iter().find(|(of, _)| of == wanted).map(|(_, label)| label);
        let Some(label) = label(name).or_else(|| label(&self.name)) else {
            return name.to_owned();
        };
        let star = self.star_of(name);
        let number: String = star.chars().take_while(char::is_ascii_digit).collect();
        let words = star.replace('_', " ");
        let band = match words.ends_with(|c: char| c.is_ascii_digit()) {
            true => format!("{words} umol/L"),
            false => words.clone(),
        };
        let label = label.replace("{number}", &number).replace("{band}", &band);
        label.replace("{name}", &words)
    }

    /// What the star of its name stands for; empty without one.
    pub fn star_of<'n>(&self, name: &'n str) -> &'n str {
        let stem = self.name.strip_suffix('*');
        stem.and_then(|stem| name.strip_prefix(stem)).unwrap_or_default()
    }

    /// The hour of a share by an hour.
    pub fn hour_of(&self, name: &str) -> Option<u32> {
        let hour = self.star_of(name).strip_suffix('h')?;
        hour.parse().ok().filter(|_| self.is_by_hour)
    }
}
