//! Small tables: every table that a reader cannot rule out is written down, one by one.

use std::collections::BTreeSet;

use siskin::privacy::series::{Span, possible, release};

use super::chance::Chance;
use super::families::released;

const HIDE_BELOW: u32 = 3;

/// Every way in which so many cases fall into the outcomes.
fn splits(cases: u64, outcomes: usize) -> Vec<Vec<u64>> {
    if outcomes == 1 {
        return vec![vec![cases]];
    }
    let first = (0..=cases).flat_map(|n| splits(cases - n, outcomes - 1).into_iter().map(move |rest| (n, rest)));
    first.map(|(n, rest)| [vec![n], rest].concat()).collect()
}

/// Every table, month by month, with these totals and these sums of the released spans.
fn tables(counts: &[Vec<u64>], released: &[Span]) -> Vec<Vec<Vec<u64>>> {
    let mut tables: Vec<Vec<Vec<u64>>> = vec![Vec::new()];
    for month in 0..counts[0].len() {
        let ways = splits(counts.iter().map(|of| of[month]).sum(), counts.len());
        let longer = tables.iter().flat_map(|table| {
            ways.iter().map(move |way| {
                let mut table = table.clone();
                table.push(way.clone());
                table
            })
        });
        let fits = |table: &Vec<Vec<u64>>| {
            let ended = released.iter().filter(|span| span.last == month);
            ended.into_iter().all(|span| {
                (0..counts.len()).all(|outcome| {
                    let sum: u64 = table[span.first..=span.last]
                        .iter()
                        .map(|of_month| of_month[outcome])
                        .sum();
                    sum == counts[outcome][span.first..=span.last].iter().sum::<u64>()
                })
            })
        };
        tables = longer.filter(fits).collect();
    }
    tables
}

/// Random counts of a few months, and every span of up to three of them as it comes.
fn small_table(seed: u64) -> (Vec<Vec<u64>>, Vec<Span>) {
    let mut chance = Chance::new(seed);
    let outcomes = chance.pick(&[2, 3, 3]);
    let months = chance.pick(&[3, 4]);
    let most = chance.pick(&[2, 4, 5]);
    let mut counts = vec![Vec::new(); outcomes];
    for _ in 0..months {
        let way = chance.between(0, most);
        let ways = splits(way, outcomes);
        let split = &ways[chance.between(0, ways.len() as u64 - 1) as usize];
        for (of_outcome, n) in counts.iter_mut().zip(split) {
            of_outcome.push(*n);
        }
    }
    let length = chance.pick(&[2, 3]);
    let asked = (0..months).flat_map(|last| {
        let first = (last + 1_usize).saturating_sub(length);
        [Span { first, last }, Span { first: last, last }]
    });
    (counts, asked.collect())
}

#[test]
fn every_small_number_keeps_its_room_in_all_tables_that_cannot_be_ruled_out() {
    let (mut guarded, mut shown) = (0, 0);
    for seed in 0..400 {
        let (counts, asked) = small_table(seed);
        let released = released(&asked, &release(&counts, &asked, HIDE_BELOW));
        shown += released.len();
        let tables = tables(&counts, &released);
        let months = counts[0].len();
        for (outcome, first, last) in
            (0..counts.len()).flat_map(|o| (0..months).flat_map(move |f| (f..months).map(move |l| (o, f, l))))
        {
            let total = |month: usize| counts.iter().map(|of| of[month]).sum::<u64>();
            let seen: BTreeSet<u64> = tables
                .iter()
                .map(|table| table[first..=last].iter().map(|of| of[outcome]).sum())
                .collect();
            for rest in [false, true] {
                let number = |month: usize| {
                    if rest {
                        total(month) - counts[outcome][month]
                    } else {
                        counts[outcome][month]
                    }
                };
                let n: u64 = (first..=last).map(number).sum();
                if (1..u64::from(HIDE_BELOW)).contains(&n) {
                    guarded += 1;
                    let holding: u64 = (first..=last).filter(|month| number(*month) > 0).map(total).sum();
                    let least = (holding + 1).min(u64::from(HIDE_BELOW)) as usize;
                    assert!(
                        seen.len() >= least,
                        "seed {seed}: outcome {outcome}, {first} to {last}: {seen:?}"
                    );
                }
            }
        }
    }
    assert!(guarded > 2_000, "{guarded}");
    assert!(shown > 600, "{shown}");
}

#[test]
fn every_number_called_possible_is() {
    for seed in 0..300 {
        let (counts, asked) = small_table(seed);
        let mut chance = Chance::new(seed + 5_000);
        let released: Vec<Span> = asked.into_iter().filter(|_| chance.of(1, 400) == 1).collect();
        let tables = tables(&counts, &released);
        for outcome in 0..counts.len() {
            for last in 0..counts[0].len() {
                let first = chance.between(0, last as u64) as usize;
                let (least, largest) = possible(&counts, &released, outcome, Span { first, last }).unwrap();
                let seen: BTreeSet<u64> = tables
                    .iter()
                    .map(|table| table[first..=last].iter().map(|of| of[outcome]).sum())
                    .collect();
                assert!(
                    (least..=largest).all(|n| seen.contains(&n)),
                    "seed {seed}: {least} to {largest}, {seen:?}"
                );
                if counts.len() == 2 {
                    assert_eq!(seen.len() as u64, largest - least + 1, "seed {seed}");
                }
            }
        }
    }
}
