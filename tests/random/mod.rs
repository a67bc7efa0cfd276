//! Random extracts: valid-looking, and hostile at every edge.
//!
//! Everything is drawn from the seed, to the second, so that the same seed
//! gives the same bytes. The units and babies are invented.
#![allow(unreachable_pub, reason = "pub says what the other tests use")]

mod baby;
mod dice;
mod extract;
mod meter_checks;
mod refuse;
mod season;
mod specimen;
mod story;
mod text;
mod timeline;

use baby::Writer;
use dice::Dice;
use extract::Extract;
use oracle::Load;
use season::Season;

const DAY_S: i64 = 86_400;

/// Two or three loads with so many babies; the seed decides everything, and `seed % 3` whether
/// they lie around the change of March 2026, of October 2026, or in July 2026.
pub fn extracts(seed: u64, babies: usize) -> Vec<Load> {
    let mut dice = Dice::new(seed);
    let season = season::season(seed, &mut dice);
    let mut extract = Extract::new(cuts(&mut dice, &season));
    for number in 0..babies {
        let story = story::story(&mut dice);
        let mut born = season.birth(&mut dice, &story.marks);
        // More than one, for some births are missing or known by date only.
        if number < 3 {
            born = season.last_birth.unwrap_or(born);
        }
        let mut writer = Writer {
            dice: &mut dice,
            season: &season,
            extract: &mut extract,
            infant_id: format!("i{number}"),
            born,
        };
        baby::write(&mut writer, &story);
        if writer.dice.chance(8) {
            refuse::write(&mut writer, number);
        }
        if writer.dice.chance(5) {
            refuse::write_reading(&mut writer, number);
        }
    }
    meter_checks::write(&mut dice, &season, &mut extract);
    loads(&mut dice, &season, &extract)
}

/// The two months of a seed's extracts, and the one after them, as `YYYY-MM`.
pub fn months(seed: u64) -> [String; 3] {
    let (year, first) = season::first_month(seed);
    [0, 1, 2].map(|later| format!("{year:04}-{:02}", first + later))
}

/// Each load knows what happened by its cut; the last one lies a little after data end.
fn cuts(dice: &mut Dice, season: &Season) -> Vec<i64> {
    let start = season.month_starts[0];
    let last = season.data_end + dice.between(0, 4 * DAY_S);
    let middle = start + (last - start) / 2;
    let mut cuts = vec![dice.between(middle - 8 * DAY_S, middle)];
    if dice.chance(60) {
        cuts.push(dice.between(middle + 2 * DAY_S, season.data_end - 2 * DAY_S));
    }
    cuts.push(last);
    cuts
}

/// Load times and what each load says about completeness.
fn loads(dice: &mut Dice, season: &Season, extract: &Extract) -> Vec<Load> {
    let mut loads = Vec::new();
    for (number, cut) in extract.cuts.iter().enumerate() {
        let is_last = number == extract.last();
        let files = extract.files(dice, number);
        let is_before_last = number + 1 == extract.last();
        let (at, through) = if is_last {
            last_words(dice, season, *cut)
        } else if is_before_last && dice.chance(12) {
            // A promise that lies after much of what the next load brings.
            let promised = season.data_end + dice.pick(&[0, 3600, DAY_S]);
            (*cut, vec![(None, promised)])
        } else if dice.chance(30) {
            (*cut, vec![(None, *cut)])
        } else {
            (*cut + dice.between(0, DAY_S), vec![])
        };
        loads.push(extract::load(at, files, through));
    }
    loads
}

/// When the last load is made, and through when it says it is complete.
fn last_words(dice: &mut Dice, season: &Season, cut: i64) -> (i64, Vec<(Option<String>, i64)>) {
    let end = season.data_end;
    let after_cut = cut + dice.between(0, DAY_S);
    let tables = [
        "births",
        "screens",
        "serum",
        "phototherapy",
        "stays",
        "exchanges",
        "meter_checks",
    ];
    match dice.between(0, 10) {
        0..5 => (after_cut, vec![(None, end)]),
        5 | 6 => {
            let mut through = Vec::new();
            for table in tables {
                let later = dice.pick(&[0, 0, 1, 3600, 2 * DAY_S]);
                through.push((Some(table.to_string()), end + later));
            }
            (after_cut, through)
        }
        7 => {
            let table = dice.pick(&tables).to_string();
            (after_cut, vec![(None, end + DAY_S), (Some(table), end)])
        }
        // By default the latest event that is not after the load.
        8 => (end, vec![]),
        _ => (after_cut, vec![]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_loads() {
        let bytes = |seed| format!("{:?}", extracts(seed, 20));
        assert_eq!(bytes(4), bytes(4));
        assert_ne!(bytes(4), bytes(5));
        assert_eq!(months(3), ["2026-03", "2026-04", "2026-05"]);
    }
}
