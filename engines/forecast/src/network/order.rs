//! In which order variables are summed out.

use super::clique::size_of;
use super::{Network, NetworkError};

/// An order of elimination and what each variable was joined to when its turn came.
pub(super) struct Elimination {
    /// Every variable once, the first to go first.
    pub(super) order: Vec<usize>,
    /// By variable, its neighbours that were still there, in ascending order.
    pub(super) joined: Vec<Vec<usize>>,
}

/// Sets of small numbers, one row for each.
struct Rows {
    words: usize,
    bits: Vec<u64>,
}

impl Rows {
    fn new(count: usize) -> Self {
        let words = count.div_ceil(64);
        Self { words, bits: vec![0; words * count] }
    }

    fn row(&self, of: usize) -> &[u64] {
        &self.bits[of * self.words..(of + 1) * self.words]
    }

    fn has(&self, of: usize, other: usize) -> bool {
        self.row(of)[other / 64] >> (other % 64) & 1 == 1
    }

    fn join(&mut self, a: usize, b: usize) {
        self.bits[a * self.words + b / 64] |= 1 << (b % 64);
        self.bits[b * self.words + a / 64] |= 1 << (a % 64);
    }

    fn part(&mut self, a: usize, b: usize) {
        self.bits[a * self.words + b / 64] &= !(1 << (b % 64));
        self.bits[b * self.words + a / 64] &= !(1 << (a % 64));
    }

    fn members(&self, of: usize) -> Vec<usize> {
        let mut members = Vec::new();
        for (word, bits) in self.row(of).iter().enumerate() {
            let mut left = *bits;
            while left != 0 {
                members.push(word * 64 + left.trailing_zeros() as usize);
                left &= left - 1;
            }
        }
        members
    }

    /// How many pairs of `of`'s neighbours are not joined, counted twice.
    fn missing(&self, of: usize) -> usize {
        let own = self.row(of);
        let apart = |other: &usize| -> usize {
            own.iter().zip(self.row(*other)).map(|(a, b)| (a & !b).count_ones() as usize).sum::<usize>() - 1
        };
        self.members(of).iter().map(apart).sum()
    }
}

/// Takes next the variable whose neighbours miss the fewest ties; of equals the one with the smallest table, then
/// the first. Gives up as soon as the tables together hold more than `most` numbers.
///
/// Variables of one state are tied to nothing and tie nothing: they can tell nothing. So every tie doubles a table at
/// least, and however a network is woven, `most` is passed before a variable that is joined to many has its turn.
pub(super) fn eliminate(network: &Network, most: u64) -> Result<Elimination, NetworkError> {
    let count = network.variables().len();
    let mut ties = Rows::new(count);
    for (child, table) in network.tables().iter().enumerate().filter(|(child, _)| network.states(*child) > 1) {
        let family: Vec<usize> = network.family(child, table).filter(|of| network.states(*of) > 1).collect();
        for (at, a) in family.iter().enumerate() {
            family.iter().skip(at + 1).for_each(|b| ties.join(*a, *b));
        }
    }
    let cost = |ties: &Rows, of: usize| (ties.missing(of), size_of(network, &ties.members(of)));
    let mut costs: Vec<Option<(usize, u64)>> = (0..count).map(|of| Some(cost(&ties, of))).collect();
    let mut done = Elimination { order: Vec::with_capacity(count), joined: vec![Vec::new(); count] };
    let mut entries = 0_u64;
    let mut width = 0;
    while let Some((next, (missing, size))) =
        costs.iter().enumerate().filter_map(|(of, cost)| Some((of, (*cost)?))).min_by_key(|(of, cost)| (*cost, *of))
    {
        let joined = ties.members(next);
        width = width.max(joined.len());
        entries = entries.saturating_add(size.saturating_mul(network.states(next) as u64));
        if entries > most {
            return Err(NetworkError::TooWide { width, entries, most });
        }
        // Where nothing is tied anew, only those that lose a neighbour change.
        let mut stale = joined.clone();
        if missing > 0 {
            for (at, a) in joined.iter().enumerate() {
                for b in joined.iter().skip(at + 1).filter(|b| !ties.has(*a, **b)).copied().collect::<Vec<_>>() {
                    ties.join(*a, b);
                }
            }
            stale.extend(joined.iter().flat_map(|of| ties.members(*of)));
            stale.sort_unstable();
            stale.dedup();
        }
        joined.iter().for_each(|of| ties.part(next, *of));
        costs[next] = None;
        for of in stale.into_iter().filter(|of| *of != next) {
            if costs[of].is_some() {
                costs[of] = Some(cost(&ties, of));
            }
        }
        done.order.push(next);
        done.joined[next] = joined;
    }
    Ok(done)
}
