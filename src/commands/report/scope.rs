//! Of whom a report is: the whole network, or one unit.

use std::collections::BTreeSet;

use crate::error::Error;
use crate::queries::figures::Figure;
use crate::warehouse::digest;

/// Whose figures a report shows.
pub(super) struct Scope<'a> {
    unit: Option<&'a str>,
}

impl<'a> Scope<'a> {
    pub(super) fn new(unit: Option<&'a str>) -> Self {
        Self { unit }
    }

    /// The unit; `None` for the network.
    pub(super) fn unit(&self) -> Option<&'a str> {
        self.unit
    }

    /// The unit as queries take it: empty for all.
    pub(super) fn parameter(&self) -> &'a str {
        self.unit.unwrap_or("")
    }

    /// The folder below the month: none for the network. A unit's name that is no plain file name
    /// becomes its letters and digits and the beginning of its hash.
    pub(super) fn folder(&self) -> String {
        let Some(unit) = self.unit else {
            return String::new();
        };
        let plain: String = unit
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' })
            .take(40)
            .collect();
        match plain == unit {
            true => format!("unit-{plain}"),
            false => format!("unit-{plain}-{}", &digest::of_text(unit)[..8]),
        }
    }

    /// The row of a file for a figure of the scope: of a unit with its unit, as `siskin measure`
    /// prints it.
    pub(super) fn as_written(&self, figure: Figure) -> Figure {
        match self.unit {
            None => figure,
            Some(unit) if figure.split == "all" => Figure {
                split: "unit".to_owned(),
                group: unit.to_owned(),
                ..figure
            },
            Some(unit) => Figure {
                split: format!("unit_and_{}", figure.split),
                group: format!("{unit}: {}", figure.group),
                ..figure
            },
        }
    }

    /// The figures of the scope, labelled as those of the whole: of a unit its own, without the
    /// others'.
    ///
    /// # Errors
    /// When no figure is of the unit.
    pub(super) fn of(&self, figures: Vec<Figure>) -> Result<Vec<Figure>, Error> {
        let Some(unit) = self.unit else {
            return Ok(figures);
        };
        let mut names: Vec<String> = figures
            .iter()
            .filter(|figure| figure.split == "unit")
            .map(|figure| figure.group.clone())
            .collect();
        names.sort_unstable();
        names.dedup();
        if !names.iter().any(|name| name == unit) {
            return Err(Error::Usage(format!(
                "no figure is of the unit '{unit}'\n  to do: name one of: {}",
                names.join(", ")
            )));
        }
        let own = figures
            .into_iter()
            .filter(|figure| figure.split == "unit" && figure.group == unit);
        Ok(own
            .map(|figure| Figure {
                split: "all".to_owned(),
                group: "all".to_owned(),
                difference: None,
                difference_lower: None,
                difference_upper: None,
                ..figure
            })
            .collect())
    }

    /// Groups of a split in the scope, labelled as those of the whole.
    pub(super) fn of_groups(&self, figures: Vec<Figure>) -> Vec<Figure> {
        let Some(unit) = self.unit else {
            return figures;
        };
        // Of another unit whose name goes on after a colon the rest would be no group.
        let groups: BTreeSet<(String, String)> = figures
            .iter()
            .map(|figure| (figure.split.clone(), figure.group.clone()))
            .collect();
        let own = figures.into_iter().filter_map(|figure| {
            let split = figure.split.strip_prefix("unit_and_")?.to_owned();
            let group = figure.group.strip_prefix(unit)?.strip_prefix(": ")?.to_owned();
            let named = (split, group);
            let is_group = groups.contains(&named);
            let (split, group) = named;
            is_group.then_some(Figure { split, group, ..figure })
        });
        own.collect()
    }
}
