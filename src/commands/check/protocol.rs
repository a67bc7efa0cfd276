//! The protocol that the next command will judge by: in plain words, and what is doubtful in it.

use crate::error::Error;
use crate::protocol::{Protocol, Version};
use crate::queries::catalogue;
use crate::queries::figures::Quantity;
use crate::warehouse::{Snapshot, Warehouse};

use super::super::build::derived_by;
use super::Told;

/// Columns of a line of plain words.
const WIDTH: usize = 100;

/// Explains the protocol, and tells whether it can be read, holds no doubt, and has derived the
/// snapshot, if there is one.
pub(super) fn check(warehouse: &Warehouse, snapshot: Option<&Snapshot>, told: &mut Told<'_>) -> Result<(), Error> {
    let protocol = match Protocol::read(&warehouse.protocol_path()) {
        Err(error) => return told.doubt("protocol.toml can be read", &[error.to_string()]),
        Ok(protocol) => protocol,
    };
    explain(&protocol, told)?;
    told.good(match snapshot {
        None => "protocol.toml can be read",
        Some(snapshot) if has_derived(&protocol, snapshot) => {
            "protocol.toml can be read; the snapshot was derived by it"
        }
        Some(_) => "protocol.toml can be read; it has changed since, so the next command that reads derives anew",
    })?;
    let mut doubts = protocol.doubts();
    doubts.extend(unknown_figures(&protocol));
    match doubts.is_empty() {
        true => told.good("nothing in protocol.toml looks like a slip"),
        false => told.doubt("nothing in protocol.toml looks like a slip", &doubts),
    }
}

fn has_derived(protocol: &Protocol, snapshot: &Snapshot) -> bool {
    let (then, now) = (&snapshot.manifest().derived_by, derived_by(protocol));
    then.protocol_sha256 == now.protocol_sha256 && then.line_tables_sha256 == now.line_tables_sha256
}

/// The protocol in plain words, for the clinicians who sign it.
fn explain(protocol: &Protocol, told: &Told<'_>) -> Result<(), Error> {
    for chapter in protocol.in_words() {
        told.say.line(&chapter.to_text(WIDTH))?;
    }
    Ok(())
}

/// Audiences and targets that name no measure and no figure.
fn unknown_figures(protocol: &Protocol) -> Vec<String> {
    let committee = protocol.audiences().committee.iter().flatten();
    let audiences = committee
        .filter(|name| !is_measure(name) && !is_figure(name, protocol))
        .map(|name| format!("audiences.committee has '{name}', which is no measure"));
    let targets = protocol.versions().iter().flat_map(|version| {
        let unknown = version
            .targets
            .iter()
            .filter(|target| !is_figure(&target.figure, protocol));
        unknown.map(|target| {
            format!(
                "version '{}': there is no figure '{}' to set a target for",
                version.name, target.figure
            )
        })
    });
    let no_shares = protocol.versions().iter().flat_map(|version| {
        let others = version
            .targets
            .iter()
            .filter(|target| Quantity::of(&target.figure) != Quantity::Share);
        others.map(|target| {
            format!(
                "version '{}': the target for '{}' is a percentage, but the figure is none",
                version.name, target.figure
            )
        })
    });
    audiences.chain(targets).chain(no_shares).collect()
}

fn is_measure(name: &str) -> bool {
    catalogue::measures().iter().any(|query| query.name == name)
}

/// Whether a measure makes a figure of that name; `*` in its header stands for a rule, a band, an
/// hour or a day of the protocol.
fn is_figure(name: &str, protocol: &Protocol) -> bool {
    let mut figures = catalogue::measures().iter().flat_map(|query| query.header.figures());
    figures.any(|figure| match figure.name.strip_suffix('*') {
        None => figure.name == name,
        Some(stem) => name.strip_prefix(stem).is_some_and(|suffix| {
            let mut suffixes = protocol.versions().iter().flat_map(suffixes);
            suffixes.any(|known| known == suffix)
        }),
    })
}

fn suffixes(version: &Version) -> Vec<String> {
    let rules = version.recheck.rules.iter().map(|rule| rule.rule.clone());
    let bands = version.severe.bands.iter().map(|band| band.name.clone());
    let days = version.readmission.within_days.iter().map(|day| format!("{day}d"));
    let hours = version.time_to_serum.shares_at_h.iter().map(|hour| format!("{hour}h"));
    rules.chain(bands).chain(days).chain(hours).collect()
}
