//! Rows of specimens: one for each version that the laboratory reported.

use std::fmt::Write;

use super::Extract;
use crate::invent::dice::Dice;
use crate::invent::error::InventError;
use crate::invent::history::{Defect, History, LabResult, LabValue, Specimen};
use crate::invent::month_files::Table;

/// One row of a specimen.
struct Version<'a> {
    resulted_s: Option<i64>,
    value: Option<LabValue>,
    /// What stands in the place of a number.
    word: &'a str,
    status: &'static str,
}

impl Extract<'_> {
    /// Writes the versions of one specimen.
    pub(super) fn specimen(
        &mut self,
        history: &History,
        place: usize,
        specimen: &Specimen,
        dice: &mut Dice,
    ) -> Result<(), InventError> {
        let calendar = &self.world.calendar;
        let collected = calendar.month_of(specimen.collected_s);
        let resulted = calendar.month_of(specimen.resulted_s);
        let known = |value, word, status| Version {
            resulted_s: Some(specimen.resulted_s),
            value,
            word,
            status,
        };
        let world = self.world;
        let word = world.scenario.laboratory.haemolysed_word.as_str();
        let mut versions = Vec::new();
        if resulted != collected {
            let pending = Version {
                resulted_s: None,
                ..known(None, "", "preliminary")
            };
            versions.push((collected, pending));
        }
        match specimen.result {
            LabResult::Haemolysed => versions.push((resulted, known(None, word, "final"))),
            LabResult::Cancelled => versions.push((resulted, known(None, "", "cancelled"))),
            LabResult::Number { first, corrected } => {
                versions.push((resulted, known(Some(first), "", "final")));
                if let Some((at_s, value)) = corrected {
                    let later = Version {
                        resulted_s: Some(at_s),
                        ..known(Some(value), "", "corrected")
                    };
                    versions.push((calendar.month_of(at_s), later));
                }
            }
        }
        for (month, version) in versions {
            self.specimen_line(history, place, specimen, &version);
            self.put(month, Table::Serum, dice)?;
        }
        Ok(())
    }

    fn specimen_line(&mut self, history: &History, place: usize, specimen: &Specimen, version: &Version<'_>) {
        let world = self.world;
        self.start('L', history, place);
        world.calendar.write_minute(&mut self.line, specimen.collected_s);
        self.line.push(',');
        if let Some(at_s) = version.resulted_s {
            world.calendar.write_minute(&mut self.line, at_s);
        }
        let implausible = specimen.defect == Defect::Implausible;
        let micro_per_mg_dl = world.rules.micro_umol_l_per_mg_dl;
        let _ = match version.value {
            None => write!(self.line, ",{},", version.word),
            Some(LabValue::UmolL(whole)) => {
                let whole = if implausible {
                    self.implausible(whole, 1_000_000)
                } else {
                    whole
                };
                write!(self.line, ",{whole},umol/L")
            }
            Some(LabValue::TenthsMgDl(tenths)) => {
                let tenths = if implausible {
                    self.implausible(tenths, micro_per_mg_dl / 10)
                } else {
                    tenths
                };
                write!(self.line, ",{}.{},mg/dL", tenths / 10, tenths % 10)
            }
        };
        if specimen.defect == Defect::UnitMissing
            && let Some(comma) = self.line.rfind(',')
        {
            self.line.truncate(comma + 1);
        }
        let _ = writeln!(
            self.line,
            ",{},{},{},{}",
            specimen.analyte,
            specimen.specimen,
            version.status,
            self.unit_name(specimen.unit),
        );
    }
}
