//! Months and sums of months: nothing is given back by all that was handed over.

use siskin::privacy::series::{Span, possible, release};

use super::chance::Chance;
use super::families::{Family, released};
use super::reader::attacked;

fn span(first: usize, last: usize) -> Span {
    Span { first, last }
}

#[test]
fn nothing_is_given_back_by_all_that_was_handed_over() {
    let (mut attacks, mut shown) = (0, 0);
    for seed in 0..1000 {
        let family = Family::random(seed, 2 + (seed % 2) as usize);
        let decisions = release(&family.counts, &family.asked, 5);
        let released = released(&family.asked, &decisions);
        let small = family.small_sums(5);
        let found = attacked(&family, &released, true).given_back(&small);
        assert!(found.is_empty(), "seed {seed}: {found:?}");
        attacks += small.len();
        shown += released.len();
    }
    // There was something to hide, and something is shown.
    assert!(attacks > 20_000, "{attacks}");
    assert!(shown > 15_000, "{shown}");
}

#[test]
fn without_hiding_small_numbers_are_given_back() {
    for seed in 0..40 {
        let family = Family::random(seed, 2 + (seed % 2) as usize);
        let decisions = release(&family.counts, &family.asked, 1);
        assert!(decisions.iter().all(|released| *released));
        let small = family.small_sums(5);
        let found = attacked(&family, &family.asked, true).given_back(&small).len();
        assert_eq!(found, small.len(), "seed {seed}");
    }
}

#[test]
fn hiding_small_sums_alone_is_not_enough() {
    let families = 100;
    let mut broken = 0;
    for seed in 0..families {
        let family = Family::random(seed, 2 + (seed % 2) as usize);
        let outcomes = 0..family.counts.len();
        let holds_small = |span: &Span| outcomes.clone().any(|outcome| family.is_small(outcome, *span, 5));
        let released: Vec<Span> = family.asked.iter().copied().filter(|span| !holds_small(span)).collect();
        let small = family.small_sums(5);
        let found = attacked(&family, &released, true).given_back(&small);
        broken += usize::from(!found.is_empty());
    }
    assert!(broken * 4 > families as usize, "{broken} of {families}");
}

#[test]
fn a_reader_who_does_not_know_totals_learns_no_small_total() {
    for seed in 0..100 {
        let family = Family::random(seed, 2 + (seed % 2) as usize);
        let released = released(&family.asked, &release(&family.counts, &family.asked, 5));
        let attack = attacked(&family, &released, false);
        for month in 0..family.months() {
            let (_, total) = family.sums(0, span(month, month));
            if (1..5).contains(&total) {
                let outcomes = 0..family.counts.len();
                let cells: Vec<usize> = outcomes.flat_map(|o| family.cells(o, span(month, month))).collect();
                assert!(
                    attack.values(&cells) >= (total + 1) as f64,
                    "seed {seed}, month {month}"
                );
            }
        }
    }
}

#[test]
fn of_two_outcomes_the_possible_numbers_are_those_of_the_linear_program() {
    let mut narrow = 0;
    for seed in 0..150 {
        let family = Family::random(seed, 2);
        let mut chance = Chance::new(seed + 10_000);
        // Spans of any kind, protected or not.
        let wanted = chance.pick(&[100, 300, 700]);
        let released: Vec<Span> = family
            .asked
            .iter()
            .copied()
            .filter(|_| chance.of(1, wanted) == 1)
            .collect();
        let attack = attacked(&family, &released, true);
        for _ in 0..6 {
            let first = chance.between(0, family.months() as u64 - 1) as usize;
            let last = (first + chance.pick(&[0, 0, 1, 2, 5, 11])).min(family.months() - 1);
            let outcome = chance.between(0, 1) as usize;
            let (least, largest) = possible(&family.counts, &released, outcome, span(first, last)).unwrap();
            let range = attack.range(&family.cells(outcome, span(first, last)));
            assert!(
                (range.0 - least as f64).abs() < 1e-5 && (range.1 - largest as f64).abs() < 1e-5,
                "seed {seed}, {first} to {last}: {least} to {largest}, the linear program {range:?}"
            );
            narrow += usize::from(least < largest && largest - least < family.sums(outcome, span(first, last)).1);
        }
    }
    // Not only what is free or known was compared.
    assert!(narrow > 100, "{narrow}");
}
