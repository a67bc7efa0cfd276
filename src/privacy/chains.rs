//! How far an outcome's cases could be others without a reader noticing: chains of swaps.
//!
//! Moment t is the start of month t, and the last moment the end of the last month. Let v(t)
//! cases of month t have outcome k in place of outcome p. The table stays one that a reader
//! cannot distinguish from the true one when no count falls below 0 and no released sum changes:
//!
//! ```text
//! -x_k(t) <= v(t) <= x_p(t),   v(first) + ... + v(last) = 0 for each released span
//! ```
//!
//! With the sums S(t) = v(0) + ... + v(t-1) these are differences of two moments: S(t+1) - S(t)
//! is at most x_p(t), S(t) - S(t+1) at most x_k(t), and a released span makes its two moments
//! equal, which glues them to one. The most that k can gain over a run of months is then the
//! shortest way between its moments, where a step to the next month costs x_p and one back
//! x_k; the most it can lose, the shortest way back. Costs are whole and none is below 0, so
//! both are whole, both are reached by a table of whole numbers, and so is each number between
//! them (the constraints form an interval matrix, which is totally unimodular).
//!
//! For two outcomes this is all that can differ, so it is exact. For more, `k` may gain from
//! one outcome and, in the table so made, from the next: a table that a reader cannot rule out
//! again, so what is counted is possible, but more may be.
//!
//! Source: difference constraints as shortest ways, Cormen TH et al., Introduction to Algorithms
//! (chapter of single-source shortest paths); interval matrices, Schrijver A, Theory of Linear
//! and Integer Programming (chapter 19); both from memory. Degenerate cases: fewer than two
//! outcomes leave no room; sums beyond 64 bits stay at the largest number.

/// Moments `from` and `to` of a run of months, or of a released span; `from` is earlier.
pub(super) type Moments = (usize, usize);

/// The months so far, and what of them is glued.
pub(super) struct Chains {
    /// Cases by outcome and month.
    cases: Vec<Vec<u64>>,
    /// The moment that stands for all that are glued with this one.
    glued: Vec<usize>,
    /// For each pair of outcomes a < b the most that a can gain from b between two moments.
    gains: Vec<Vec<Vec<u64>>>,
}

/// By how much an outcome's sum over a run may differ from the true one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Room {
    /// Cases fewer.
    pub(super) down: u64,
    /// Cases more.
    pub(super) up: u64,
}

impl Room {
    /// How many whole numbers that is, with the true one.
    pub(super) fn values(self) -> u64 {
        self.down.saturating_add(self.up).saturating_add(1)
    }
}

impl Chains {
    /// No months yet, of so many outcomes.
    pub(super) fn new(outcomes: usize) -> Self {
        Self {
            cases: vec![Vec::new(); outcomes],
            glued: vec![0],
            gains: vec![vec![vec![0]]; outcomes * outcomes.saturating_sub(1) / 2],
        }
    }

    /// How many months there are.
    pub(super) fn months(&self) -> usize {
        self.glued.len() - 1
    }

    /// Appends a month: its cases by outcome.
    pub(super) fn append(&mut self, cases: &[u64]) {
        let last = self.months();
        self.glued.push(last + 1);
        for (of_outcome, n) in self.cases.iter_mut().zip(cases) {
            of_outcome.push(*n);
        }
        for b in 0..cases.len() {
            for a in 0..b {
                // No way to the end of the months leads anywhere else.
                let gain = &mut self.gains[pair(a, b)];
                let mut back: Vec<u64> = gain[last].iter().map(|n| n.saturating_add(cases[a])).collect();
                for row in gain.iter_mut() {
                    row.push(row[last].saturating_add(cases[b]));
                }
                back.push(0);
                gain.push(back);
            }
        }
    }

    /// Whether a reader has the sums between two moments already, as sums of released ones.
    pub(super) fn are_glued(&self, (from, to): Moments) -> bool {
        self.glued[from] == self.glued[to]
    }

    /// A span is released.
    pub(super) fn glue(&mut self, span: Moments) {
        self.glued = with_glued(&self.glued, span);
        for gain in &mut self.gains {
            let (to_from, to_to): (Vec<u64>, Vec<u64>) = gain.iter().map(|row| (row[span.0], row[span.1])).unzip();
            let (of_from, of_to) = (gain[span.0].clone(), gain[span.1].clone());
            for (i, row) in gain.iter_mut().enumerate() {
                for (j, n) in row.iter_mut().enumerate() {
                    let through = to_from[i].saturating_add(of_to[j]);
                    *n = through.min(to_to[i].saturating_add(of_from[j])).min(*n);
                }
            }
        }
    }

    /// The room of an outcome over a run, were `span` released too; all of it, or what was found
    /// by the time that `enough` values were.
    pub(super) fn room(&self, outcome: usize, run: Moments, span: Option<Moments>, enough: u64) -> Room {
        let outcomes = self.cases.len();
        let mut best = Room { down: 0, up: 0 };
        for other in (0..outcomes).filter(|other| *other != outcome) {
            best.up = best.up.max(self.gain(outcome, other, run, span));
            best.down = best.down.max(self.gain(outcome, other, (run.1, run.0), span));
            if best.values() >= enough {
                return best;
            }
        }
        if outcomes > 2 {
            let glued = span.map_or_else(|| self.glued.clone(), |span| with_glued(&self.glued, span));
            // Each of the others comes first once.
            for start in (0..outcomes).filter(|start| *start != outcome) {
                let others = (0..outcomes).map(|i| (start + i) % outcomes);
                let others: Vec<usize> = others.filter(|other| *other != outcome).collect();
                best.up = best.up.max(self.in_turn(outcome, &others, run, &glued, true));
                best.down = best.down.max(self.in_turn(outcome, &others, run, &glued, false));
                if best.values() >= enough {
                    break;
                }
            }
        }
        best
    }

    /// The most that one outcome can gain from another between two moments; the first may be later.
    fn gain(&self, outcome: usize, other: usize, (from, to): Moments, span: Option<Moments>) -> u64 {
        // What the second of a pair gains, the first loses: the same way, back.
        let (gain, from, to) = if outcome < other {
            (&self.gains[pair(outcome, other)], from, to)
        } else {
            (&self.gains[pair(other, outcome)], to, from)
        };
        let straight = gain[from][to];
        match span {
            None => straight,
            Some((a, b)) => {
                let there = gain[from][a].saturating_add(gain[b][to]);
                straight.min(there).min(gain[from][b].saturating_add(gain[a][to]))
            }
        }
    }

    /// What an outcome can gain over a run, or lose, with one other after the other.
    ///
    /// The swaps made with each are those by the ways to the run's end: a month appended to table
    /// and run then adds exactly its own room.
    fn in_turn(&self, outcome: usize, others: &[usize], run: Moments, glued: &[usize], gains: bool) -> u64 {
        let mut cases = self.cases.clone();
        let mut total: u64 = 0;
        for other in others {
            let (gainer, loser) = if gains { (outcome, *other) } else { (*other, outcome) };
            let ways = ways(run.1, &cases[gainer], &cases[loser], glued);
            total = total.saturating_add(ways[glued[run.0]]);
            for month in 0..self.months() {
                let (from, to) = (ways[glued[month]], ways[glued[month + 1]]);
                cases[gainer][month] = cases[gainer][month].saturating_add(from).saturating_sub(to);
                cases[loser][month] = cases[loser][month].saturating_add(to).saturating_sub(from);
            }
        }
        total
    }
}

/// Where the pair of outcomes a < b stands.
fn pair(a: usize, b: usize) -> usize {
    b * (b - 1) / 2 + a
}

/// The moments with two of them glued.
fn with_glued(glued: &[usize], (from, to): Moments) -> Vec<usize> {
    let (kept, gone) = (glued[from], glued[to]);
    glued.iter().map(|m| if *m == gone { kept } else { *m }).collect()
}

/// The shortest ways from a moment to all, where `later[t]` is the cost of month t forwards and
/// `earlier[t]` backwards; stands at the moment that stands for those glued.
fn ways(start: usize, later: &[u64], earlier: &[u64], glued: &[usize]) -> Vec<u64> {
    let mut ways = vec![u64::MAX; glued.len()];
    ways[glued[start]] = 0;
    loop {
        let mut shorter = false;
        let mut step = |from: usize, to: usize, cost: u64| {
            let way = ways[from].saturating_add(cost);
            if way < ways[to] {
                ways[to] = way;
                shorter = true;
            }
        };
        for month in 0..later.len() {
            step(glued[month], glued[month + 1], later[month]);
        }
        for month in (0..later.len()).rev() {
            step(glued[month + 1], glued[month], earlier[month]);
        }
        if !shorter {
            return ways;
        }
    }
}
