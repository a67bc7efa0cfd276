//! What figures are counted for besides the whole network and its units.

use crate::words::words;

words! {
    /// A column that splits the cases of a measure into groups.
    pub Split {
        /// Band of completed weeks of gestation.
        Gestation = "gestation",
        /// Skin tone of the baby.
        SkinTone = "skin_tone",
        /// Ethnicity, as the source writes it.
        Ethnicity = "ethnicity",
        /// Feeding.
        Feeding = "feeding",
        /// Weekday or weekend of the index event.
        Weekend = "weekend",
        /// Day or night of the index event.
        Night = "night",
    }
}

/// Measures that are not of babies: they are counted for units alone.
pub const OF_NO_BABY: [&str; 6] = [
    "meter_checks",
    "screens_outside_limits",
    "failed_specimens",
    "specimen_delay",
    "record_quality",
    "records_in_time",
];
