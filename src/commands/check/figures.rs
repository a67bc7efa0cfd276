//! Names of measures and figures in a protocol: audiences and targets that are of none, or are
//! wanted the wrong way round.

use crate::protocol::{Protocol, Target, Version};
use crate::queries::catalogue::{self, Query};
use crate::queries::figure_names::figure_names;
use crate::queries::figures::Quantity;
use crate::queries::header::Better;

/// The figure that a version without `[version.coverage]` does not give.
const COVERAGE: &str = "screening_coverage";

/// What names no measure or figure, and targets that cannot be meant.
pub(super) fn doubts(protocol: &Protocol) -> Vec<String> {
    let committee = protocol.audiences().committee.iter().flatten();
    let is_measure = |name: &str| catalogue::measures().iter().any(|query| query.name == name);
    let audiences = committee
        .filter(|name| !is_measure(name) && measure_of(name, protocol.versions()).is_none())
        .map(|name| format!("audiences.committee has '{name}', which is no measure"));
    let targets = protocol.versions().iter().flat_map(|version| {
        let each = version.targets.iter().filter_map(|target| doubt(target, version));
        each.map(|why| format!("version '{}': {why}", version.name))
    });
    audiences.chain(targets).collect()
}

/// The measure that gives a figure of that name under one of the versions.
fn measure_of(name: &str, versions: &[Version]) -> Option<&'static Query> {
    let gives = |query: &Query| {
        let mut formulas = query.header.figures().into_iter();
        formulas.any(|formula| {
            figure_names(query, &formula, versions)
                .iter()
                .any(|known| known == name)
        })
    };
    catalogue::measures().iter().find(|query| gives(query))
}

fn doubt(target: &Target, version: &Version) -> Option<String> {
    let figure = target.figure.as_str();
    let Some(query) = measure_of(figure, std::slice::from_ref(version)) else {
        return Some(format!("there is no figure '{figure}' to set a target for"));
    };
    if Quantity::of(figure) != Quantity::Share {
        return Some(format!(
            "the target for '{figure}' is a percentage, but the figure is none"
        ));
    }
    if figure == COVERAGE && version.coverage.is_none() {
        return Some(format!(
            "there is a target for '{figure}', but no [version.coverage] that says who is to be screened"
        ));
    }
    let key = match target.at_most_percent {
        Some(_) => "at_most_percent",
        None => "at_least_percent",
    };
    let (better, fitting) = match query.header.better(figure)? {
        Better::Higher => ("higher", "at_least_percent"),
        Better::Lower => ("lower", "at_most_percent"),
    };
    (key != fitting).then(|| {
        format!("the target for '{figure}' has {key}, but of this figure {better} is better: was {fitting} meant?")
    })
}
