//! Why a row is set aside, and what to do about it.

use crate::words::words;

words! {
    /// The closed list of reasons; the word is stored, counted and shown.
    pub Reason {
        /// A quote opens and never closes.
        UnclosedQuote = "unclosed_quote",
        /// More or fewer cells than the header.
        WrongNumberOfCells = "wrong_number_of_cells",
        /// Bytes that are not UTF-8.
        NotUtf8 = "not_utf8",
        /// The row has no id of its own.
        MissingId = "missing_id",
        /// The row names no baby.
        MissingInfant = "missing_infant",
        /// The moment the row is dated by is empty.
        MissingTime = "missing_time",
        /// A time that cannot be read.
        UnreadableTime = "unreadable_time",
        /// A day alone where a moment is needed.
        DateWithoutTime = "date_without_time",
        /// A screen without a value.
        MissingValue = "missing_value",
        /// A value that is no number.
        UnreadableValue = "unreadable_value",
        /// A value without a unit.
        MissingUnit = "missing_unit",
        /// A unit that is neither umol/L nor mg/dL.
        UnknownUnit = "unknown_unit",
        /// A value outside the protocol's bounds.
        ImplausibleValue = "implausible_value",
        /// A word outside the contract's list.
        UnknownWord = "unknown_word",
        /// A word of the contract's list is needed and there is none.
        MissingWord = "missing_word",
        /// A gestation that is not weeks+days.
        UnreadableGestation = "unreadable_gestation",
        /// A number that cannot be read.
        UnreadableNumber = "unreadable_number",
        /// Phototherapy that stops before it starts.
        StopBeforeStart = "stop_before_start",
        /// A discharge before the admission.
        DischargeBeforeAdmission = "discharge_before_admission",
        /// A record that is not of the file's format.
        UnreadableRecord = "unreadable_record",
        /// An id that does not follow the rule of its source.
        UnreadableId = "unreadable_id",
        /// It refers to a resource that has not come yet. Such a row is held.
        AbsentReference = "absent_reference",
        /// A baby merged into itself.
        MergedIntoItself = "merged_into_itself",
    }
}

impl Reason {
    /// What to do so that the row can be loaded.
    pub fn remedy(self) -> &'static str {
        match self {
            Self::UnclosedQuote => "close the quote, or double a quote that belongs to the text",
            Self::WrongNumberOfCells => "give the row as many cells as the header; quote a cell that holds a comma",
            Self::NotUtf8 => "export the file as UTF-8, or declare its encoding; then load the file again",
            Self::MissingId => "give the row its id; without one a correction could not replace it",
            Self::MissingInfant => "give the id of the baby",
            Self::MissingTime => "give the moment; without one the row belongs to no month",
            Self::UnreadableTime => "write the time as 2026-09-30T14:05, with an offset if you have one",
            Self::DateWithoutTime => "give the time of day as well",
            Self::MissingValue => "give the value, or leave the row out if nothing was measured",
            Self::UnreadableValue => "write the value as a number with a decimal point, > or < before it if bounded",
            Self::MissingUnit => "state umol/L or mg/dL; a unit is never guessed",
            Self::UnknownUnit => "write umol/L or mg/dL; a unit is never guessed",
            Self::ImplausibleValue => "check value and unit at the source",
            Self::UnknownWord => "use a word of the column's list",
            Self::MissingWord => "fill the column with a word of its list",
            Self::UnreadableGestation => "write weeks+days such as 38+4, weeks alone, or leave it empty",
            Self::UnreadableNumber => "write a whole number, or leave the cell empty",
            Self::StopBeforeStart => "check the two times at the source",
            Self::DischargeBeforeAdmission => "check the two times at the source",
            Self::UnreadableRecord => "check that the file is whole and of the format its name says",
            Self::UnreadableId => "check the id at the source, or mend its rule in sources.toml",
            Self::AbsentReference => "load the file with the resource it refers to; the row is then taken in by itself",
            Self::MergedIntoItself => "check the two ids at the source",
        }
    }
}
