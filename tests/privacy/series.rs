//! Months and sums of months.

use siskin::privacy::series::{Span, possible, release};

use super::chance::Chance;
use super::families::{Family, handed_over, released};

fn span(first: usize, last: usize) -> Span {
    Span { first, last }
}

#[test]
fn two_sums_of_twelve_months_do_not_give_a_month_back() {
    // Two Januaries with 6 and 2 missed. The twelve months to the first December have 66, those
    // to the second January 62: the second January has 4 fewer than the first, which was shown,
    // so 6 - 4 = 2. So the second sum is hidden. The third, to the second February, is shown:
    // what it tells of the second January hangs on both Februaries, which are hidden.
    let missed = vec![6, 5, 5, 5, 6, 5, 6, 5, 6, 5, 6, 6, 2, 5];
    let done = vec![50; 14];
    let counts = [missed, done];
    let asked = [span(0, 0), span(0, 11), span(1, 12), span(12, 12), span(2, 13)];
    let decisions = release(&counts, &asked, 5);
    assert_eq!(decisions, [true, true, false, false, true]);

    // What the reader could have had: the 2, and nothing else.
    let given = [span(0, 0), span(0, 11), span(1, 12)];
    assert_eq!(possible(&counts, &given, 0, span(12, 12)), Some((2, 2)));
    // What the reader has: any of the month's 52 cases may be missed, or none.
    assert_eq!(
        possible(&counts, &released(&asked, &decisions), 0, span(12, 12)),
        Some((0, 52))
    );
}

#[test]
fn a_quarter_and_two_of_its_months_do_not_give_the_third_back() {
    // Months of 7, 3 and 9 missed, in the order of handing over: the first month is shown, the
    // second is small. The quarter (19) is shown: the two hidden months then have 12 together.
    // The third (9) would leave 19 - 7 - 9 = 3 and is hidden.
    let counts = [vec![7, 3, 9], vec![40, 40, 40]];
    let asked = [span(0, 0), span(1, 1), span(0, 2), span(2, 2)];
    let decisions = release(&counts, &asked, 5);
    assert_eq!(decisions, [true, false, true, false]);
    assert_eq!(
        possible(&counts, &released(&asked, &decisions), 0, span(1, 1)),
        Some((0, 12))
    );
}

#[test]
fn a_small_rest_is_hidden_as_a_small_number_is() {
    // 38 of 40, so 2 are not.
    assert_eq!(release(&[vec![38], vec![2]], &[span(0, 0)], 5), [false]);
    // Of three outcomes the rest of the first is 5, but the third is small.
    assert_eq!(release(&[vec![20], vec![5], vec![0]], &[span(0, 0)], 5), [true]);
    assert_eq!(release(&[vec![20], vec![3], vec![2]], &[span(0, 0)], 5), [false]);
}

#[test]
fn a_zero_is_shown_unless_it_tells_a_small_number() {
    assert_eq!(
        release(&[vec![0, 0], vec![9, 9]], &[span(0, 1), span(0, 0)], 5),
        [true, true]
    );
    // 0 in both months together tells that all 3 cases of the first were done.
    assert_eq!(release(&[vec![0, 0], vec![3, 9]], &[span(0, 1)], 5), [false]);
}

#[test]
fn a_month_of_few_cases_hides_no_other_month() {
    // 1 of 3, then 0 of 20: that the two months have 0 to 3 was known before.
    assert_eq!(
        release(&[vec![1, 0], vec![2, 20]], &[span(0, 0), span(1, 1)], 5),
        [false, true]
    );
    // One case of each outcome: each is any of 0 to 3, taken from both others in turn.
    let counts = [vec![1, 20], vec![1, 30], vec![1, 40]];
    assert_eq!(release(&counts, &[span(0, 0), span(1, 1)], 5), [false, true]);
    assert_eq!(possible(&counts, &[span(1, 1)], 2, span(0, 0)), Some((0, 3)));
}

#[test]
fn what_later_months_bring_changes_no_decision() {
    for seed in 0..150 {
        let family = Family::random(seed, 2 + (seed % 3) as usize);
        let decisions = release(&family.counts, &family.asked, 5);
        for months in [1, 5, 12, family.months() - 1] {
            let counts: Vec<Vec<u64>> = family.counts.iter().map(|of| of[..months].to_vec()).collect();
            let asked: Vec<Span> = family.asked.iter().copied().filter(|span| span.last < months).collect();
            assert_eq!(release(&counts, &asked, 5), decisions[..asked.len()], "seed {seed}");
        }
    }
}

#[test]
fn degenerate_series() {
    let months = vec![vec![1, 0, 2], vec![3, 0, 1]];
    let asked = [span(0, 0), span(0, 2), span(1, 1)];
    for hides_nothing in [0, 1] {
        assert_eq!(release(&months, &asked, hides_nothing), [true, true, true]);
    }
    // No cases: nothing is small.
    assert_eq!(release(&[vec![0; 3], vec![0; 3]], &asked, 5), [true, true, true]);
    // No such months.
    assert_eq!(release(&[Vec::new(), Vec::new()], &asked, 5), [false, false, false]);
    assert_eq!(release(&[vec![9], vec![9]], &asked, 1), [true, false, false]);
    assert_eq!(release(&[vec![9, 9], vec![9, 9]], &[span(1, 0)], 1), [false]);
    // One month; nothing asked; no or one outcome.
    assert_eq!(release(&[vec![9], vec![9]], &[span(0, 0)], 5), [true]);
    assert_eq!(release(&months, &[], 5), [false; 0]);
    assert_eq!(release(&[], &[span(0, 0)], 5), [false]);
    assert_eq!(release(&[vec![9]], &[span(0, 0)], 5), [false]);
    // Numbers at the end of what 64 bits hold.
    assert_eq!(
        release(&[vec![u64::MAX; 2], vec![u64::MAX; 2]], &[span(0, 1)], 5),
        [true]
    );
    assert_eq!(possible(&months, &[], 2, span(0, 0)), None);
    assert_eq!(possible(&months, &[], 0, span(0, 3)), None);
}

#[test]
fn ten_years_of_four_outcomes_leave_something_to_show() {
    let mut chance = Chance::new(1);
    let rates = [30, 60, 200];
    let mut counts = vec![Vec::new(); 4];
    for _ in 0..120 {
        let mut left = chance.between(80, 120);
        for (of_outcome, rate) in counts.iter_mut().zip(rates) {
            of_outcome.push(chance.of(left, rate));
            left -= of_outcome.last().unwrap();
        }
        counts[3].push(left);
    }
    let asked = handed_over(120, 0);
    let decisions = release(&counts, &asked, 5);
    let years = asked
        .iter()
        .zip(&decisions)
        .filter(|(span, _)| span.last >= span.first + 11);
    let (all, shown) = years.fold((0, 0), |(all, shown), (_, released)| {
        (all + 1, shown + u32::from(*released))
    });
    assert!(shown * 2 > all, "{shown} of {all} sums of twelve months");
}
