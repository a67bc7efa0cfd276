//! One table of groups, and two of the same cases.

use siskin::privacy::groups::release;

#[test]
fn a_second_group_is_hidden_with_the_one_that_is_small() {
    // Sums 24 of 180. Of (3, 40) alone hidden, 24 - 12 - 9 = 3. With (9, 60), the next smallest,
    // 12 are hidden among two: 0 to 12.
    let groups = [(12, 80), (3, 40), (9, 60)];
    assert_eq!(release(&groups, 5), Some(vec![true, false, false]));
}

#[test]
fn a_third_group_is_hidden_where_two_have_too_little() {
    // 2 and 1 have 3 together, so each is one of 0 to 3: four numbers. The next makes it 12.
    let groups = [(2, 40), (1, 50), (9, 60), (20, 90)];
    assert_eq!(release(&groups, 5), Some(vec![false, false, false, true]));
    // 4 together are a small number of two groups, which the sum would tell.
    assert_eq!(
        release(&[(2, 40), (2, 50), (9, 60)], 5),
        Some(vec![false, false, false])
    );
}

#[test]
fn a_small_rest_and_a_small_group_are_hidden_too() {
    assert_eq!(
        release(&[(39, 40), (30, 50), (30, 60)], 5),
        Some(vec![false, false, true])
    );
    assert_eq!(
        release(&[(0, 3), (10, 50), (20, 60)], 5),
        Some(vec![false, false, true])
    );
    // A group without cases hides none: the 4 of the first would be all that is hidden.
    assert_eq!(release(&[(4, 4), (0, 0), (20, 60)], 5), Some(vec![false, false, false]));
}

/// A county's delinquent children by education of the head of household, the last row of table 1
/// of Statistical Policy Working Paper 22 (from memory): 12, 14, 7 and a 2 to be hidden, 35 in
/// all. Hidden alone the 2 is given back, as the paper says; the next smallest is hidden with it.
#[test]
fn a_published_row_needs_a_second_hidden_number() {
    let row = [(12, 12), (14, 14), (7, 7), (2, 2)];
    let shown = release(&row, 5).unwrap();
    assert_eq!(shown, [true, true, false, false]);
}

#[test]
fn degenerate_tables() {
    assert_eq!(release(&[], 5), Some(Vec::new()));
    assert_eq!(release(&[(1, 2)], 1), Some(vec![true]));
    assert_eq!(release(&[(1, 2)], 0), Some(vec![true]));
    assert_eq!(release(&[(10, 20)], 5), Some(vec![true]));
    // A single group is its own sum.
    assert_eq!(release(&[(1, 20)], 5), None);
    assert_eq!(release(&[(0, 0), (0, 30)], 5), Some(vec![true, true]));
    assert_eq!(release(&[(3, 2), (10, 30)], 5), None);
    // Of equal groups the first is hidden.
    assert_eq!(release(&[(9, 50), (9, 50), (2, 60)], 5), Some(vec![false, true, false]));
}
