//! Why something is left out of a figure: the words, once.

pub(super) const BIRTH_TIME_UNKNOWN: &str = "birth_time_unknown";
pub(super) const GESTATION_UNKNOWN: &str = "gestation_unknown";
pub(super) const GESTATION_BELOW_LIMIT: &str = "gestation_below_limit";
pub(super) const NO_LINE: &str = "no_line";
pub(super) const AGE_BELOW_LIMIT: &str = "age_below_limit";
pub(super) const PHOTOTHERAPY: &str = "phototherapy";
pub(super) const NO_BIRTH_STAY: &str = "no_birth_stay";
pub(super) const DISPOSITION_UNKNOWN: &str = "disposition_unknown";
pub(super) const LEFT: &str = "left";
