//! Reads the babies of a review: each listing once for all of them.

use std::collections::BTreeMap;

use serde::de::DeserializeOwned;

use crate::engine::{Session, Sql};
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;

use super::facts::{Baby, Course, Exchange, LinePiece, Recheck, Referral, Stay, Test, Treatment};
use super::{CASES, Case, cases};

/// The cases of the months `first` to `last`, gravest first, and their babies by id.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn review(
    session: &Session,
    first: Month,
    last: Month,
) -> Result<(Vec<Case>, BTreeMap<String, Baby>), QueryError> {
    let cases = cases::shown(session, first, last).await?;
    if cases.is_empty() {
        return Ok((cases, BTreeMap::new()));
    }
    let babies: Vec<Baby> = session.rows(listings::review_babies, &[]).await?;
    let mut babies = babies.into_iter().map(|baby| (baby.infant_id.clone(), baby)).collect();
    let mut facts = Facts {
        session,
        babies: &mut babies,
    };
    facts
        .read(listings::review_tests, |baby, test: Test| baby.tests.push(test))
        .await?;
    facts
        .read(listings::review_courses, |baby, course: Course| {
            baby.courses.push(course)
        })
        .await?;
    facts
        .read(listings::review_stays, |baby, stay: Stay| baby.stays.push(stay))
        .await?;
    facts
        .read(listings::review_exchanges, |baby, exchange: Exchange| {
            baby.exchanges.push(exchange)
        })
        .await?;
    facts
        .read(listings::review_referrals, |baby, referral: Referral| {
            baby.referrals.push(referral)
        })
        .await?;
    facts
        .read(listings::review_rechecks, |baby, recheck: Recheck| {
            baby.rechecks.push(recheck)
        })
        .await?;
    facts
        .read(listings::review_treatments, |baby, treatment: Treatment| {
            baby.treatment = Some(treatment)
        })
        .await?;
    facts
        .read(listings::review_lines, |baby, piece: LinePiece| baby.pieces.push(piece))
        .await?;
    session.remove(CASES)?;
    Ok((cases, babies))
}

/// The babies while their facts are read.
struct Facts<'a> {
    session: &'a Session,
    babies: &'a mut BTreeMap<String, Baby>,
}

impl Facts<'_> {
    /// Reads the rows of a listing and gives each to its baby.
    async fn read<T: OfBaby + DeserializeOwned>(
        &mut self,
        listing: Sql<'_>,
        mut give: impl FnMut(&mut Baby, T),
    ) -> Result<(), QueryError> {
        for fact in self.session.rows::<T>(listing, &[]).await? {
            // A baby that is not in the register has no page; its rows wait there.
            if let Some(baby) = self.babies.get_mut(fact.infant_id()) {
                give(baby, fact);
            }
        }
        Ok(())
    }
}

/// A fact about one baby.
trait OfBaby {
    fn infant_id(&self) -> &str;
}

macro_rules! of_baby {
    ($($fact:ident),+) => {
        $(impl OfBaby for $fact {
            fn infant_id(&self) -> &str {
                &self.infant_id
            }
        })+
    };
}

of_baby!(Test, Course, Stay, Exchange, Referral, Recheck, Treatment, LinePiece);
