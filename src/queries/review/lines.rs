//! A baby's treatment and exchange line as corners over its age.

use super::facts::LinePiece;

/// Ages in seconds and values in millionths of umol/L.
pub type Corners = Vec<(i64, i64)>;

/// The treatment and the exchange line between two ages. A corner on the straight between its
/// neighbours is left out; where another version begins to judge, the line may jump.
pub fn corners(pieces: &[LinePiece], from_s: i64, to_s: i64) -> (Corners, Corners) {
    let of = |ends: fn(&LinePiece) -> (i64, i64)| {
        let mut all = Corners::new();
        for piece in pieces {
            let from = piece.age_from_s.max(piece.from_s).max(from_s);
            let to = piece.age_to_s.min(piece.to_s).min(to_s);
            // Before birth the line is that at birth.
            if from >= to {
                continue;
            }
            for at in [from, to] {
                push(
                    &mut all,
                    (at, between((piece.age_from_s, piece.age_to_s), ends(piece), at)),
                );
            }
        }
        all
    };
    (
        of(|piece| (piece.phototherapy_from_micro, piece.phototherapy_to_micro)),
        of(|piece| (piece.exchange_from_micro, piece.exchange_to_micro)),
    )
}

/// The value at an age of the straight between two.
fn between((from, to): (i64, i64), (low, high): (i64, i64), at: i64) -> i64 {
    let share = i128::from(at - from) * i128::from(high - low) / i128::from((to - from).max(1));
    low + share as i64
}

fn push(all: &mut Corners, corner: (i64, i64)) {
    if all.last() == Some(&corner) {
        return;
    }
    if let [.., a, b] = all[..]
        && is_straight(a, b, corner)
    {
        all.pop();
    }
    all.push(corner);
}

/// Whether the middle one is within a thousandth of umol/L of the straight between the others.
fn is_straight(a: (i64, i64), b: (i64, i64), c: (i64, i64)) -> bool {
    a.0 < b.0 && b.0 < c.0 && (between((a.0, c.0), (a.1, c.1), b.0) - b.1).abs() < 1000
}
