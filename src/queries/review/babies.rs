//! Reads the babies of a review: each listing once for all of them.

use std::collections::BTreeMap;

use crate::engine::Session;
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;

use super::facts::{Baby, Course, Exchange, LinePiece, Recheck, Referral, Stay, Test, Treatment};
use super::{CASES, Case, cases};

/// The cases of the months `first` to `last` that are to be shown, gravest first, and their babies by id.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn review(
    session: &Session,
    (first, last): (Month, Month),
    is_shown: impl Fn(&[Case]) -> Vec<bool>,
) -> Result<(Vec<Case>, BTreeMap<String, Baby>), QueryError> {
    let cases = cases::shown(session, first, last, is_shown).await?;
    if cases.is_empty() {
        return Ok((cases, BTreeMap::new()));
    }
    let babies: Vec<Baby> = session.rows(listings::review_babies, &[]).await?;
    let mut babies: BTreeMap<String, Baby> = babies.into_iter().map(|baby| (baby.infant_id.clone(), baby)).collect();
    // Reads the rows of a listing and gives each to its baby. One that is not in the register has
    // no page; its rows wait there.
    macro_rules! read {
        ($listing:ident, |$baby:ident, $fact:ident: $Fact:ty| $give:expr) => {
            for $fact in session.rows::<$Fact>(listings::$listing, &[]).await? {
                if let Some($baby) = babies.get_mut(&$fact.infant_id) {
                    $give;
                }
            }
        };
    }
    read!(review_tests, |baby, test: Test| baby.tests.push(test));
    read!(review_courses, |baby, course: Course| baby.courses.push(course));
    read!(review_stays, |baby, stay: Stay| baby.stays.push(stay));
    read!(review_exchanges, |baby, one: Exchange| baby.exchanges.push(one));
    read!(review_referrals, |baby, one: Referral| baby.referrals.push(one));
    read!(review_rechecks, |baby, one: Recheck| baby.rechecks.push(one));
    read!(review_treatments, |baby, one: Treatment| baby.treatments.push(one));
    read!(review_lines, |baby, piece: LinePiece| baby.pieces.push(piece));
    session.remove(CASES)?;
    Ok((cases, babies))
}
