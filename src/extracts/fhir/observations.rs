//! Observations: each goes to the table its code means. What a value says is read here.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Fault, Record};

use super::parts::{count, number, text};
use super::reader::Reading;
use super::resources::{Observation, effective};
use super::settings::Details;

impl Observation<'_> {
    /// The moment it is of.
    pub(super) fn at(&self) -> &str {
        effective(
            &self.effective_date_time,
            &self.effective_instant,
            &self.effective_period,
        )
    }

    /// Its value in the spelling of the contract, and the unit as given. Words, also those
    /// for why there is no value, stand as they are: an attempt.
    pub(super) fn value_and_unit(&self) -> Result<(Cell, String), Fault> {
        if let Some(quantity) = &self.value_quantity {
            let value = quantity.value.as_ref().map(number).unwrap_or_default();
            let comparator = text(&quantity.comparator);
            if !matches!(comparator, "" | "<" | ">") {
                let cell = format!("{comparator}{value}");
                let fault = Fault::of_cell(Reason::UnreadableValue, "value", &cell);
                return Err(fault.with_remedy("give the value with > or < before it, or none"));
            }
            if !value.is_empty() || self.data_absent_reason.is_none() {
                let value = format!("{comparator}{value}");
                return Ok((value.into(), quantity.unit().to_owned()));
            }
        }
        let unit = self.value_quantity.as_ref().map_or("", |quantity| quantity.unit());
        let concept = self
            .value_codeable_concept
            .as_ref()
            .or(self.data_absent_reason.as_ref());
        let said = match (&self.value_integer, text(&self.value_string)) {
            (Some(integer), _) => count(integer),
            (None, "") => concept.map_or("", |concept| concept.said()).to_owned(),
            (None, said) => said.to_owned(),
        };
        Ok((said.into(), unit.to_owned()))
    }
}

impl Reading<'_> {
    /// An observation, as the row its code asks for.
    pub(super) fn observation(&self, observation: &Observation<'_>, record: &mut Record) {
        let Some(meant) = self.settings.meaning(observation.code.as_ref()) else {
            return self.unmapped(observation.code.as_ref(), "Observation", record);
        };
        match meant.meaning {
            "screen" => self.screen(observation, record),
            "serum" => self.serum(observation, &meant, record),
            "meter_check" => self.meter_check(observation, record),
            "birth_weight" => self.described(observation, "birth_weight_g", record),
            "mother" => self.described(observation, "mother_id", record),
            column @ ("gestation" | "plurality" | "feeding" | "risk_factors" | "skin_tone" | "ethnicity" | "unit") => {
                self.described(observation, column, record);
            }
            _ => self.unmapped(observation.code.as_ref(), "Observation", record),
        }
    }

    /// What the components and the extensions of an observation say.
    pub(super) fn details(&self, observation: &Observation<'_>) -> Details<'_> {
        self.settings.details(&observation.component, &observation.extension)
    }
}
