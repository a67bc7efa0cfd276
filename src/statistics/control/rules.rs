//! Nelson's eight tests on standardised values, and the older run of eight.
//!
//! A value is z = (value - centre)/sigma. Zone C is within one sigma of the centre, B within
//! two, A within three; a value exactly on a zone line belongs to the inner zone, so every
//! comparison is strict, and a value exactly on the centre is on no side. Each test looks at
//! windows of its length and names the last value of every window it holds for. Source: Nelson LS
//! (1984) J Qual Technol 16:237-239; Western Electric (1956) Statistical Quality Control
//! Handbook.
//!
//! A month without a value breaks every window across it. The tests ask for independent, nearly
//! normal values; on counts that are small or skewed, tests 2 to 8 give more false signals than
//! their authors state. Charts drawn by [`super::chart`] use only the first and the rules of
//! [`super::run_chart`].
//!
//! Degenerate cases: fewer values than the window give no signal; one that is not a number counts
//! as missing.

/// A test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Test {
    /// 1: beyond three sigma.
    BeyondThree,
    /// 2: nine in a row on one side of the centre.
    NineOnOneSide,
    /// The older form of 2: eight in a row on one side.
    EightOnOneSide,
    /// 3: six in a row rising, or falling.
    SixInOneDirection,
    /// 4: fourteen in a row up and down in turn.
    FourteenInTurn,
    /// 5: two of three beyond two sigma on one side.
    TwoOfThreeBeyondTwo,
    /// 6: four of five beyond one sigma on one side.
    FourOfFiveBeyondOne,
    /// 7: fifteen in a row within one sigma.
    FifteenWithinOne,
    /// 8 as Nelson words it: eight in a row beyond one sigma, on both sides of the centre.
    EightBeyondOneOnBothSides,
    /// 8 as some programs read it: eight in a row beyond one sigma, on one side or both.
    EightBeyondOne,
}

impl Test {
    /// Number of values the test looks at.
    pub fn window(self) -> usize {
        match self {
            Test::BeyondThree => 1,
            Test::NineOnOneSide => 9,
            Test::SixInOneDirection => 6,
            Test::FourteenInTurn => 14,
            Test::TwoOfThreeBeyondTwo => 3,
            Test::FourOfFiveBeyondOne => 5,
            Test::FifteenWithinOne => 15,
            Test::EightOnOneSide | Test::EightBeyondOneOnBothSides | Test::EightBeyondOne => 8,
        }
    }

    /// Index of the last value of every window the test holds for.
    ///
    /// ```
    /// use siskin::statistics::control::rules::Test;
    /// let z = [Some(2.1), Some(0.3), Some(2.4), None, Some(3.2)];
    /// assert_eq!(Test::TwoOfThreeBeyondTwo.signals(&z), [2]);
    /// assert_eq!(Test::BeyondThree.signals(&z), [4]);
    /// ```
    pub fn signals(self, z: &[Option<f64>]) -> Vec<usize> {
        let window = self.window();
        let is_signal = |values: &[Option<f64>]| {
            let present: Option<Vec<f64>> = values.iter().map(|value| value.filter(|z| !z.is_nan())).collect();
            present.is_some_and(|present| self.holds(&present))
        };
        let windows = z.windows(window).enumerate();
        let of = windows.filter(|(_, values)| is_signal(values));
        of.map(|(start, _)| start + window - 1).collect()
    }

    fn holds(self, z: &[f64]) -> bool {
        let all = |is: fn(f64) -> bool| z.iter().all(|z| is(*z));
        let any = |is: fn(f64) -> bool| z.iter().any(|z| is(*z));
        let count = |is: fn(f64) -> bool| z.iter().filter(|z| is(**z)).count();
        let steps = || z.windows(2).map(|pair| pair[1] - pair[0]);
        match self {
            Test::BeyondThree => all(|z| z.abs() > 3.0),
            Test::NineOnOneSide | Test::EightOnOneSide => all(|z| z > 0.0) || all(|z| z < 0.0),
            Test::SixInOneDirection => steps().all(|step| step > 0.0) || steps().all(|step| step < 0.0),
            Test::FourteenInTurn => z
                .windows(3)
                .all(|of| (of[1] > of[0] && of[2] < of[1]) || (of[1] < of[0] && of[2] > of[1])),
            Test::TwoOfThreeBeyondTwo => count(|z| z > 2.0) >= 2 || count(|z| z < -2.0) >= 2,
            Test::FourOfFiveBeyondOne => count(|z| z > 1.0) >= 4 || count(|z| z < -1.0) >= 4,
            Test::FifteenWithinOne => all(|z| z.abs() <= 1.0),
            Test::EightBeyondOne => all(|z| z.abs() > 1.0),
            Test::EightBeyondOneOnBothSides => all(|z| z.abs() > 1.0) && any(|z| z > 0.0) && any(|z| z < 0.0),
        }
    }
}
