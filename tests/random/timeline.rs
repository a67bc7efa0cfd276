//! One baby's story, in seconds of age.

use super::dice::Dice;
use oracle::{Lines, Rules};

/// One hour.
pub const H: i64 = 3600;

/// The invented units; some rows have none.
pub const UNITS: [&str; 4] = ["harbour", "meadow", "hill", ""];

/// A value as written, with its unit of measure.
pub type Written = (String, String);

/// A serum draw.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Age at collection.
    pub at: i64,
    /// Seconds from collection to result.
    pub result_lag: Option<i64>,
    /// Value.
    pub value: Written,
    /// What an earlier version said, when that matters; otherwise now and then anything.
    pub earlier: Option<Written>,
}

/// One admission.
#[derive(Clone, Debug)]
pub struct Admission {
    /// Age at admission.
    pub from: i64,
    /// Age at discharge.
    pub to: Option<i64>,
    /// Source.
    pub source: &'static str,
    /// Disposition.
    pub disposition: &'static str,
    /// Diagnoses.
    pub diagnoses: &'static str,
}

/// A baby's story.
#[derive(Clone, Debug)]
pub struct Timeline {
    /// Gestation as written.
    pub gestation: &'static str,
    /// Feeding as written.
    pub feeding: &'static str,
    /// Risk factors as written.
    pub risk_factors: &'static str,
    /// The rules whose line the story is told by.
    pub rules: Rules,
    /// Screens.
    pub screens: Vec<(i64, Written)>,
    /// Serum draws.
    pub draws: Vec<Draw>,
    /// Failed draws.
    pub attempts: Vec<i64>,
    /// Episodes of phototherapy.
    pub episodes: Vec<(i64, Option<i64>)>,
    /// Stays.
    pub stays: Vec<Admission>,
    /// Exchange transfusions.
    pub exchanges: Vec<i64>,
    /// Noteworthy ages, to be put on data end or a clock change.
    pub marks: Vec<i64>,
}

impl Timeline {
    /// A baby to whom nothing has happened yet.
    pub fn new(dice: &mut Dice) -> Self {
        Self {
            gestation: dice.weighted(&[
                (30, "39+2"),
                (14, "40+0"),
                (8, "41"),
                (8, "38"),
                (8, "38+0"),
                (6, "37+6"),
                (4, "37"),
                (5, "36+3"),
                (4, "35+0"),
                (3, "35"),
                (4, "34+6"),
                (1, "34"),
                (1, "23+0"),
                (2, "22+6"),
                (2, "22"),
                (4, ""),
                (1, "term"),
            ]),
            feeding: dice.weighted(&[(4, "breast"), (2, "mixed"), (2, "formula"), (2, "")]),
            risk_factors: dice.weighted(&[
                (4, ""),
                (2, "none"),
                (1, "None"),
                (1, "dat_positive;other_haemolysis"),
                (1, "sibling_phototherapy"),
                (1, "g6pd; sibling_phototherapy"),
                (1, "sepsis"),
                (1, "Low_Albumin;isoimmune_haemolysis"),
            ]),
            rules: if dice.chance(50) { Rules::nice() } else { Rules::aap() },
            screens: Vec::new(),
            draws: Vec::new(),
            attempts: Vec::new(),
            episodes: Vec::new(),
            stays: Vec::new(),
            exchanges: Vec::new(),
            marks: vec![0],
        }
    }

    /// The line at an age, in micro-umol/L; where there is none, that of another baby.
    pub fn line_micro(&self, age_s: i64) -> i64 {
        self.lines(age_s).map_or(0, |lines| lines.phototherapy_micro)
    }

    /// The exchange line likewise.
    pub fn exchange_line_micro(&self, age_s: i64) -> i64 {
        self.lines(age_s).map_or(0, |lines| lines.exchange_micro)
    }

    fn lines(&self, age_s: i64) -> Option<Lines> {
        let weeks = self.gestation.split('+').next().unwrap_or("");
        let weeks = weeks.parse().unwrap_or(40);
        let of_weeks = |weeks| self.rules.lines(weeks, self.risk_factors, age_s);
        of_weeks(weeks).or_else(|| of_weeks(23)).or_else(|| of_weeks(40))
    }

    /// A serum whose result comes back at this age.
    pub fn draw_resulted_at(&mut self, at: i64, resulted: i64, value: Written) {
        self.draws.push(Draw {
            at,
            result_lag: Some(resulted - at),
            value,
            earlier: None,
        });
    }

    /// A serum whose result comes back some time later.
    pub fn draw(&mut self, dice: &mut Dice, at: i64, value: Written) {
        let result_lag = match dice.between(0, 20) {
            0 => None,
            1 => Some(-dice.between(0, H)),
            2 => Some(dice.between(18 * H, 26 * H)),
            3 => Some(dice.pick(&[0, 6 * H, 24 * H, 24 * H - 1])),
            _ => Some(dice.between(600, 3 * H)),
        };
        self.draws.push(Draw {
            at,
            result_lag,
            value,
            earlier: None,
        });
    }

    /// A birth stay that ends near one of the edges, in every way a stay can end.
    pub fn stay_ending_near(&mut self, dice: &mut Dice, edges: &[i64], from: i64, to: i64) {
        let ends = dice.around(edges, from, to).max(0);
        let begins = dice.pick(&[0, 0, -3 * H, 600]).min(ends);
        let source = dice.weighted(&[(80, "birth"), (12, ""), (8, "home")]);
        let disposition = dice.weighted(&[(46, "home"), (20, "transfer"), (11, "died"), (11, ""), (12, "open")]);
        if dice.chance(5) {
            return;
        }
        self.marks.push(ends);
        if dice.chance(12) {
            // A stay recorded within or across the other one, perhaps from the same second on.
            let from = begins + dice.pick(&[0, H, (ends - begins) / 2]);
            let to = dice.pick(&[from + H, ends, ends + 10 * H]).max(from);
            let inner = dice.pick(&["home", "home", "transfer", "died", ""]);
            self.stays.push(Admission::new(from, Some(to), "", inner));
        }
        if disposition == "open" {
            self.stays.push(Admission::new(begins, None, source, ""));
            return;
        }
        let stay = Admission::new(begins, Some(ends), source, disposition);
        self.stays.push(stay);
        if disposition == "transfer" {
            self.marks.extend([ends + 6 * H, ends + 6 * H]);
            if dice.chance(65) {
                self.transferred_on(dice, ends);
            }
        }
    }

    fn transferred_on(&mut self, dice: &mut Dice, out: i64) {
        let admitted = out + dice.around(&[6 * H, 0], 60, 6 * H);
        let source = dice.weighted(&[(8, "transfer"), (1, ""), (1, "home")]);
        let disposition = dice.weighted(&[(50, "home"), (15, "transfer"), (12, "died"), (11, ""), (12, "open")]);
        self.marks.push(admitted);
        if disposition == "open" {
            self.stays.push(Admission::new(admitted, None, source, ""));
            return;
        }
        let ends = admitted + dice.between(H, 60 * H);
        self.marks.push(ends);
        let stay = Admission::new(admitted, Some(ends), source, disposition);
        self.stays.push(stay);
    }
}

impl Admission {
    /// A stay without diagnoses.
    pub fn new(from: i64, to: Option<i64>, source: &'static str, disposition: &'static str) -> Self {
        Self {
            from,
            to,
            source,
            disposition,
            diagnoses: "",
        }
    }
}

/// A value in umol/L, to the last of six places.
pub fn umol(micro: i64) -> Written {
    let micro = micro.clamp(0, 855_000_000);
    let mut text = format!("{}.{:06}", micro / 1_000_000, micro % 1_000_000);
    text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    (text, "umol/L".to_string())
}

/// A value in mg/dL, to the last of eight places, never half-way between two micro-umol/L.
pub fn mg_dl(micro: i64) -> Written {
    let micro = micro.clamp(0, 854_000_000);
    // 1e-8 mg/dL is 0.171 micro-umol/L.
    let mut places = (micro * 1000 + 85) / 171;
    if places * 171 % 1000 == 500 {
        places += 1;
    }
    let text = format!("{}.{:08}", places / 100_000_000, places % 100_000_000);
    (text, "mg/dL".to_string())
}

/// A value in one of the two units, as exactly as they can say it.
pub fn either(dice: &mut Dice, micro: i64) -> Written {
    if dice.chance(60) { umol(micro) } else { mg_dl(micro) }
}

/// A whole value in [from, to) umol/L, now and then written in mg/dL or another spelling.
pub fn some_value(dice: &mut Dice, from: i64, to: i64) -> Written {
    let value = dice.between(from, to);
    match dice.between(0, 10) {
        0 => (format!("{:.1}", value as f64 / 17.1), "mg/dL".to_string()),
        1 => (
            value.to_string(),
            dice.pick(&["\u{b5}mol/L", "\u{3bc}mol/l", "UMOL/L"]).to_string(),
        ),
        2 => (format!("{:.2}", value as f64 / 17.1), "MG/DL".to_string()),
        _ => (value.to_string(), "umol/L".to_string()),
    }
}
