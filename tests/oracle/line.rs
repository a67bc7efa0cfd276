//! The treatment line and the exchange line.

/// Both lines of a baby at an age, in micro-umol/L.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lines {
    /// For phototherapy.
    pub phototherapy_micro: i64,
    /// For an exchange transfusion.
    pub exchange_micro: i64,
}

/// Whose lines.
#[derive(Clone, Debug)]
pub enum Standard {
    /// NICE CG98.
    NiceCg98,
    /// A site's own table.
    Table(Vec<TableRow>),
}

/// One row of a site's table.
#[derive(Clone, Debug)]
pub struct TableRow {
    gestation_weeks: i64,
    risk: String,
    age_s: i64,
    lines: Lines,
}

/// The table of a CSV text `standard,gestation_weeks,risk,age_h,phototherapy_umol_l,
/// exchange_umol_l` in whole umol/L, as the test's own file is.
pub fn table(text: &str) -> Vec<TableRow> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.expect("CSV text that can be read");
        let number = |place: usize| record[place].parse::<i64>().expect("a whole number");
        rows.push(TableRow {
            gestation_weeks: number(1),
            risk: record[2].to_string(),
            age_s: number(3) * 3600,
            lines: Lines {
                phototherapy_micro: number(4) * MICRO,
                exchange_micro: number(5) * MICRO,
            },
        });
    }
    rows
}

/// Phototherapy line from 38 completed weeks, every 6 h from birth to 96 h, in umol/L.
const TERM_UMOL_L: [i64; 17] = [
    100, 125, 150, 175, 200, 212, 225, 237, 250, 262, 275, 287, 300, 312, 325, 337, 350,
];

const MICRO: i64 = 1_000_000;
const SIX_HOURS_S: i64 = 6 * 3600;
const THREE_DAYS_S: i64 = 72 * 3600;

/// Exchange line from 38 completed weeks: 50 umol/L every 6 h from 100 at birth, flat at 450
/// from 42 h, as the published table has it.
const TERM_EXCHANGE_FLAT_S: i64 = 42 * 3600;

impl Standard {
    /// The lines at an age, by gestation in completed weeks; "risk raises the line set used only
    /// where a table has one". "Age below 0 reads the line at 0" (choice 10).
    pub fn lines(&self, gestation_weeks: i64, has_risk: bool, age_s: i64) -> Option<Lines> {
        let age_s = age_s.max(0);
        match self {
            Self::NiceCg98 => nice_cg98(gestation_weeks, age_s),
            Self::Table(rows) => of_table(rows, gestation_weeks, has_risk, age_s),
        }
    }
}

impl Standard {
    /// Whether a baby's risk may choose among its lines.
    pub fn depends_on_risk(&self) -> bool {
        match self {
            Self::NiceCg98 => false,
            Self::Table(rows) => rows.iter().any(|row| row.risk != "any"),
        }
    }
}

/// "Piecewise linear between tabled ages; flat after the last", the straight formula below 38
/// weeks ("from 40 (exchange 80) at birth to gestation x 10 - 100 (x 10) at 72 h, then flat"),
/// none under 23 weeks.
fn nice_cg98(gestation_weeks: i64, age_s: i64) -> Option<Lines> {
    if gestation_weeks < 23 {
        return None;
    }
    if gestation_weeks < 38 {
        let straight = |start_umol_l: i64, plateau_umol_l: i64| {
            let (start, plateau) = (start_umol_l * MICRO, plateau_umol_l * MICRO);
            between(start, plateau, age_s.min(THREE_DAYS_S), THREE_DAYS_S)
        };
        return Some(Lines {
            phototherapy_micro: straight(40, gestation_weeks * 10 - 100),
            exchange_micro: straight(80, gestation_weeks * 10),
        });
    }
    let exchange_age_s = age_s.min(TERM_EXCHANGE_FLAT_S);
    let exchange_micro = between(100 * MICRO, 450 * MICRO, exchange_age_s, TERM_EXCHANGE_FLAT_S);
    let step = (age_s / SIX_HOURS_S) as usize;
    let phototherapy_micro = if step >= TERM_UMOL_L.len() - 1 {
        TERM_UMOL_L[TERM_UMOL_L.len() - 1] * MICRO
    } else {
        let (from, to) = (TERM_UMOL_L[step] * MICRO, TERM_UMOL_L[step + 1] * MICRO);
        between(from, to, age_s % SIX_HOURS_S, SIX_HOURS_S)
    };
    Some(Lines {
        phototherapy_micro,
        exchange_micro,
    })
}

/// The last tabled week serves older babies; below the first there is no line.
fn of_table(rows: &[TableRow], gestation_weeks: i64, has_risk: bool, age_s: i64) -> Option<Lines> {
    let oldest = rows.iter().map(|row| row.gestation_weeks).max()?;
    let weeks = gestation_weeks.min(oldest);
    let risk = if has_risk { "present" } else { "absent" };
    let holds = |row: &&TableRow| row.gestation_weeks == weeks && (row.risk == "any" || row.risk == risk);
    let own: Vec<&TableRow> = rows.iter().filter(holds).collect();
    let before = own
        .iter()
        .filter(|row| row.age_s <= age_s)
        .max_by_key(|row| row.age_s)?;
    let after = own.iter().filter(|row| row.age_s > age_s).min_by_key(|row| row.age_s);
    let Some(after) = after else {
        return Some(before.lines);
    };
    let at = |from: i64, to: i64| between(from, to, age_s - before.age_s, after.age_s - before.age_s);
    Some(Lines {
        phototherapy_micro: at(before.lines.phototherapy_micro, after.lines.phototherapy_micro),
        exchange_micro: at(before.lines.exchange_micro, after.lines.exchange_micro),
    })
}

/// "v0 + round_half_up((v1-v0)*(age-age0)/(age1-age0))" (choice 10); the line never falls.
fn between(v0: i64, v1: i64, since_s: i64, length_s: i64) -> i64 {
    let rise = i128::from(v1 - v0) * i128::from(since_s);
    let length = i128::from(length_s);
    v0 + ((2 * rise + length) / (2 * length)) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    const H: i64 = 3600;

    fn term(weeks: i64, age_s: i64) -> Option<i64> {
        let lines = Standard::NiceCg98.lines(weeks, false, age_s);
        lines.map(|lines| lines.phototherapy_micro)
    }

    #[test]
    fn tabled_points_formula_and_plateau() {
        assert_eq!(term(40, 0), Some(100_000_000));
        assert_eq!(term(38, -60), Some(100_000_000));
        assert_eq!(term(38, 27 * H), Some(206_000_000));
        assert_eq!(term(38, 96 * H), Some(350_000_000));
        assert_eq!(term(45, 1000 * H), Some(350_000_000));
        // (25 umol/L in 6 h: 1 s is 1157.407 micro; 12 in 6 h: 1 s is 555.56 micro)
        assert_eq!(term(39, 1), Some(100_001_157));
        assert_eq!(term(39, 24 * H + 1), Some(200_000_556));
        // 37 weeks: 40 to 270 over 72 h.
        assert_eq!(term(37, 36 * H), Some(155_000_000));
        assert_eq!(term(37, 72 * H), Some(270_000_000));
        assert_eq!(term(23, 72 * H), Some(130_000_000));
        assert_eq!(term(24, 6 * H), Some(48_333_333));
        assert_eq!(term(22, 6 * H), None);
    }

    #[test]
    fn exchange_lines() {
        let exchange = |weeks, age_s| {
            let lines = Standard::NiceCg98.lines(weeks, true, age_s);
            lines.map(|lines| lines.exchange_micro)
        };
        // NICE CG98, table of 38 weeks and more: 100 at birth, 200 at 12 h, 450 from 42 h.
        assert_eq!(exchange(39, 0), Some(100_000_000));
        assert_eq!(exchange(39, 12 * H), Some(200_000_000));
        assert_eq!(exchange(39, 33 * H), Some(375_000_000));
        assert_eq!(exchange(39, 42 * H), Some(450_000_000));
        assert_eq!(exchange(39, 200 * H), Some(450_000_000));
        // 36 weeks: 80 to 360 over 72 h.
        assert_eq!(exchange(36, 36 * H), Some(220_000_000));
        assert_eq!(exchange(36, 80 * H), Some(360_000_000));
    }

    #[test]
    fn a_table_has_lines_by_week_and_risk() {
        let text = "standard,gestation_weeks,risk,age_h,phototherapy_umol_l,exchange_umol_l\n\
                    x,35,absent,0,100,200\nx,35,absent,10,200,300\nx,35,present,0,50,200\nx,35,present,10,150,300\n\
                    x,36,absent,0,110,200\nx,36,absent,10,210,300\nx,36,present,0,60,200\nx,36,present,10,160,300\n";
        let standard = Standard::Table(table(text));
        let line = |weeks, risk, age_s| {
            let lines = standard.lines(weeks, risk, age_s);
            lines.map(|lines| lines.phototherapy_micro)
        };
        assert_eq!(line(34, false, H), None);
        assert_eq!(line(35, false, -5), Some(100_000_000));
        assert_eq!(line(35, false, 5 * H), Some(150_000_000));
        assert_eq!(line(35, true, 5 * H), Some(100_000_000));
        assert_eq!(line(42, true, 10 * H), Some(160_000_000));
        assert_eq!(line(42, false, 999 * H), Some(210_000_000));
    }
}
