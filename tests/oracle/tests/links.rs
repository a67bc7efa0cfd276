//! What a case is linked back to.

use super::*;

/// Home at 120 h, back for jaundice at 150 h, severe at 152 h.
fn case() -> Case {
    Case {
        // Due and never answered; outside limits on the first day; within limits after going home.
        screens: vec![(60 * H, "260"), (10 * H, "50"), (130 * H, "20")],
        // Near the line with no recheck for 42 h; above 340 in the later stay.
        serums: vec![(100 * H, "320"), (152 * H, "345"), (153 * H, "360")],
        stays: vec![
            (0, Some(120 * H), "birth", "home", ""),
            (150 * H, Some(200 * H), "home", "home", "P59.9"),
        ],
        ..Case::default()
    }
}

fn row(case: &Case, kind: &str) -> Option<LinkRow> {
    let mut rows = case.network().linked_back().into_iter();
    rows.find(|row| row.case_kind == kind)
}

#[test]
fn a_readmission_is_linked_to_what_was_missed_in_the_birth_stay() {
    let readmission = row(&case(), "readmission").expect("a readmission");
    assert_eq!(readmission.case_s, BIRTH + 150 * H);
    assert_eq!(readmission.missed_referrals, 1);
    assert_eq!(readmission.late_referrals, 0);
    assert_eq!(readmission.missed_rechecks, 1);
    assert_eq!(readmission.untreated, 0);
    // The one at 10 h; the one after going home was within limits.
    assert_eq!(readmission.screens_outside_limits, 1);
}

#[test]
fn a_severe_case_is_linked_likewise_and_what_came_after_it_is_not() {
    let severe = row(&case(), "above_340").expect("a case");
    assert_eq!(severe.case_s, BIRTH + 152 * H);
    assert_eq!((severe.missed_referrals, severe.missed_rechecks), (1, 1));
    let in_stay = Case {
        screens: vec![(60 * H, "260"), (90 * H, "260")],
        serums: vec![(80 * H, "345"), (100 * H, "320")],
        ..case()
    };
    let severe = row(&in_stay, "above_340").expect("a case");
    assert_eq!((severe.missed_referrals, severe.missed_rechecks), (0, 0));
    // 345 at 80 h is above the line and was not treated, but it is the case itself.
    assert_eq!((severe.late_referrals, severe.untreated), (1, 0));
    let readmission = row(&in_stay, "readmission").expect("a readmission");
    // The screen of 90 h was answered late as well, 10 h later.
    assert_eq!((readmission.late_referrals, readmission.untreated), (2, 1));
}

#[test]
fn a_baby_that_stays_well_has_no_row() {
    let well = Case {
        serums: vec![(100 * H, "320")],
        stays: vec![(0, Some(120 * H), "birth", "home", "")],
        ..Case::default()
    };
    assert_eq!(well.network().linked_back(), vec![]);
}
