//! Concordance.

use siskin::statistics::agreement::concordance::concordance;

use super::super::published::case;
use super::{about, figures, pairs};

/// Lin L (1989) Biometrics 45:255-268; sources of the values stand in the published file.
#[test]
fn concordance_equals_the_published_ones() {
    for id in ["lin_ccc_pefr", "lin_ccc_creat"] {
        let case = case(id);
        let found = concordance(&pairs(&case, "a", "b")).unwrap();
        let interval = found.interval.unwrap();
        figures(
            &case,
            &[
                ("ccc", found.value),
                ("lower", interval.lower),
                ("upper", interval.upper),
            ],
        );
    }
}

#[test]
fn degenerate_pairs_have_documented_concordance() {
    assert_eq!(concordance(&[]), None);
    assert_eq!(concordance(&[(1.0, 2.0)]), None);
    assert_eq!(concordance(&[(0.1, 0.1), (0.1, 0.1), (0.1, 0.1)]), None);
    assert_eq!(concordance(&[(1e200, 1.0), (-1e200, 1.0)]), None);
    assert_eq!(concordance(&[(f64::NAN, 1.0), (1.0, 1.0)]), None);
    let level = concordance(&[(1.0, 2.0), (2.0, 2.0), (3.0, 2.0)]).unwrap();
    assert_eq!((level.value, level.interval), (0.0, None));
    let apart = concordance(&[(1.0, 2.0), (1.0, 2.0)]).unwrap();
    assert_eq!((apart.value, apart.interval), (0.0, None));
    let equal = concordance(&[(0.1, 0.1), (0.7, 0.7), (0.3, 0.3)]).unwrap();
    assert_eq!((equal.value, equal.interval), (1.0, Some(about(1.0, 0.0))));
    let opposite = concordance(&[(-1.0, 1.0), (0.0, 0.0), (1.0, -1.0)]).unwrap();
    assert_eq!((opposite.value, opposite.interval), (-1.0, Some(about(-1.0, 0.0))));
    assert_eq!(concordance(&[(1.0, 1.5), (2.0, 2.0)]).unwrap().interval, None);
}
