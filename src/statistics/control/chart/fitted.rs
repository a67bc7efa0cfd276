//! Which months of a phase are its baseline, and which process they make.

use super::model::{self, Cell, Model};
use super::parts::{Series, Why};

/// Number of months that set the limits of a phase; with fewer it has none.
pub const BASELINE: usize = 12;

/// Number of months that set them, once there are so many, where spread must be learnt as well.
pub const BASELINE_OF_SPREAD: usize = 24;

/// What the judged months of a phase are held against.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fitted {
    /// The steady process, or why there is none.
    pub(super) model: Result<Model, Why>,
    /// Number of judged months, from the first, that set it.
    pub(super) baseline: usize,
}

impl Fitted {
    pub(super) fn to(series: Series<'_>, judged: &[Cell]) -> Fitted {
        let first = &judged[..judged.len().min(BASELINE)];
        let is_more_than_chance = model::dispersion(series, first).is_some_and(|of| of.is_more_than_chance());
        // Where neighbours differ by no more than chance the series drifts or steps.
        let is_wide = is_more_than_chance && model::sigma_z(series, first).is_some_and(|sigma_z| sigma_z > 1.0);
        let most = match series {
            Series::Proportions(_) | Series::Rates { .. } if !is_wide => BASELINE,
            Series::CasesBetween(_) => BASELINE,
            _ => BASELINE_OF_SPREAD,
        };
        let baseline = judged.len().min(most);
        let model = if judged.len() < BASELINE {
            Err(Why::FewMonths { found: judged.len() })
        } else {
            Model::of(series, &judged[..baseline], is_wide).ok_or(Why::NoSpread)
        };
        Fitted {
            model,
            baseline: if model.is_ok() { baseline } else { 0 },
        }
    }
}
