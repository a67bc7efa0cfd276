//! The rows of each load, and their CSV text.

use std::collections::BTreeMap;

use super::dice::Dice;
use oracle::Load;

/// The tables with their columns.
const TABLES: [(&str, &str); 7] = [
    (
        "births",
        "infant_id mother_id born_at gestation birth_weight_g sex plurality birth_order unit \
         feeding risk_factors skin_tone ethnicity",
    ),
    (
        "screens",
        "screen_id infant_id measured_at value unit_of_measure body_site readings meter_id \
         operator_id id_entry setting unit",
    ),
    (
        "serum",
        "specimen_id infant_id collected_at resulted_at value unit_of_measure analyte specimen \
         status unit",
    ),
    (
        "phototherapy",
        "episode_id infant_id started_at stopped_at kind setting unit",
    ),
    (
        "stays",
        "stay_id infant_id unit admitted_at discharged_at source disposition diagnoses",
    ),
    ("exchanges", "exchange_id infant_id performed_at unit"),
    ("meter_checks", "check_id meter_id checked_at outcome unit"),
];

/// One row: cells by column; a column that is not named is empty.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its table.
    pub table: &'static str,
    cells: BTreeMap<&'static str, String>,
}

impl Line {
    /// A row of a table.
    pub fn new(table: &'static str) -> Self {
        Self {
            table,
            cells: BTreeMap::new(),
        }
    }

    /// What a cell says; empty when nothing.
    pub fn cell(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// The row with this cell.
    pub fn with(mut self, column: &'static str, cell: impl Into<String>) -> Self {
        self.cells.insert(column, cell.into());
        self
    }
}

/// The rows of every load, in order.
pub struct Extract {
    /// Until when each load knows what happened.
    pub cuts: Vec<i64>,
    /// The readings so far, with their meters.
    pub readings: Vec<(&'static str, i64)>,
    lines: Vec<Vec<Line>>,
}

impl Extract {
    /// Loads without rows.
    pub fn new(cuts: Vec<i64>) -> Self {
        let lines = vec![Vec::new(); cuts.len()];
        Self {
            cuts,
            readings: Vec::new(),
            lines,
        }
    }

    /// The load that first knows of something, if any does.
    pub fn load_of(&self, at: i64) -> Option<usize> {
        self.cuts.iter().position(|cut| at <= *cut)
    }

    /// The last load.
    pub fn last(&self) -> usize {
        self.cuts.len() - 1
    }

    /// Adds a row to a load; now and then it comes twice, in this file or a later one.
    pub fn push(&mut self, dice: &mut Dice, load: usize, line: Line) {
        self.lines[load].push(line.clone());
        if dice.chance(2) {
            let again = repeat(dice, &line);
            self.lines[load].push(again);
        }
        if dice.chance(2) && load < self.last() {
            let later = dice.between(load as i64 + 1, self.cuts.len() as i64) as usize;
            let again = repeat(dice, &line);
            self.lines[later].push(again);
        }
    }

    /// The files of one load, in one of the shapes files have.
    pub fn files(&self, dice: &mut Dice, load: usize) -> Vec<(String, String)> {
        let mut files = Vec::new();
        for (table, columns) in TABLES {
            let lines: Vec<&Line> = self.lines[load].iter().filter(|line| line.table == table).collect();
            if load > 0 && dice.chance(4) {
                continue;
            }
            // Now and then a table comes in two files.
            let parts = if dice.chance(10) { 2 } else { 1 };
            let size = lines.len().div_ceil(parts).max(1);
            if lines.is_empty() {
                files.push((table.to_string(), csv_text(dice, columns, &[])));
            }
            for part in lines.chunks(size) {
                files.push((table.to_string(), csv_text(dice, columns, part)));
            }
        }
        files
    }
}

/// The same row again; blanks around a cell make no difference.
fn repeat(dice: &mut Dice, line: &Line) -> Line {
    let mut again = line.clone();
    for cell in again.cells.values_mut() {
        if dice.chance(10) {
            *cell = format!(" {cell} ");
        }
    }
    again
}

fn csv_text(dice: &mut Dice, columns: &str, lines: &[&Line]) -> String {
    let mut columns: Vec<&str> = columns.split(' ').collect();
    for optional in ["record_status", "recorded_at"] {
        let is_used = lines.iter().any(|line| line.cells.contains_key(optional));
        if is_used || dice.chance(15) {
            columns.push(optional);
        }
    }
    if dice.chance(15) {
        columns.reverse();
    }
    let mut text = format!("{}\n", columns.join(","));
    for line in lines {
        let cells: Vec<&str> = columns
            .iter()
            .map(|column| line.cells.get(column).map_or("", String::as_str))
            .collect();
        text += &cells.join(",");
        text.push('\n');
    }
    text
}

/// A load of these files.
pub fn load(at: i64, files: Vec<(String, String)>, through: Vec<(Option<String>, i64)>) -> Load {
    Load { at, files, through }
}
