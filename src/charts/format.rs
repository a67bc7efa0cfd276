//! How wide a chart is drawn, and how large its text.

/// How wide a chart is drawn. It scales with its column; the format decides how large its
/// text is beside the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// 720 units, for a column of 500 to 800 pixels; readable down to 360.
    #[default]
    Wide,
    /// 440 units, for half a column or a telephone.
    Narrow,
}

impl Format {
    pub(super) fn width(self) -> f64 {
        match self {
            Self::Wide => 720.0,
            Self::Narrow => 440.0,
        }
    }

    pub(super) fn type_size(self) -> f64 {
        match self {
            Self::Wide => 18.0,
            Self::Narrow => 15.0,
        }
    }
}
