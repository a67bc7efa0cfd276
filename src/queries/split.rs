//! What figures are counted for besides the whole network and its units.

/// A column that splits the cases of a measure into groups.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Split {
    /// Band of completed weeks of gestation.
    Gestation,
    /// Skin tone of the baby.
    SkinTone,
    /// Ethnicity, as the source writes it.
    Ethnicity,
    /// Feeding.
    Feeding,
    /// Weekday or weekend of the index event.
    Weekend,
    /// Day or night of the index event.
    Night,
}

impl Split {
    /// All of them, in the order in which they are listed.
    pub const ALL: [Self; 6] = [
        Self::Gestation,
        Self::SkinTone,
        Self::Ethnicity,
        Self::Feeding,
        Self::Weekend,
        Self::Night,
    ];

    /// The word used in results and in SQL.
    pub fn word(self) -> &'static str {
        match self {
            Self::Gestation => "gestation",
            Self::SkinTone => "skin_tone",
            Self::Ethnicity => "ethnicity",
            Self::Feeding => "feeding",
            Self::Weekend => "weekend",
            Self::Night => "night",
        }
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
