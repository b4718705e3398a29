//! What is left to be chosen once all that no fewest choice needs is left away.

use std::collections::BTreeMap;

use crate::bits::Bits;

/// How good a candidate is, the least first, and which it is.
type Best = ((u32, usize), usize);

/// Candidates, the better ones first, with the cuts that each meets; and the same the other way round.
#[derive(Debug)]
pub struct Left {
    /// What each candidate is.
    pub ids: Vec<usize>,
    /// The cuts that each meets.
    pub candidates: Vec<Bits>,
    /// The candidates of each cut.
    pub cuts: Vec<Bits>,
}

impl Left {
    /// Of candidates that are in the same cuts only the one that comes first by `taste`.
    pub fn new(cuts: &[Vec<usize>], taste: &impl Fn(usize) -> (u32, usize)) -> Self {
        let most = cuts.iter().flatten().max().map_or(0, |most| most + 1);
        let mut in_cuts: Vec<Option<Bits>> = vec![None; most];
        for (cut, of) in cuts.iter().enumerate() {
            for candidate in of {
                in_cuts[*candidate].get_or_insert_with(|| Bits::none(cuts.len())).put(cut);
            }
        }
        let mut best: BTreeMap<Bits, Best> = BTreeMap::new();
        for (candidate, bits) in in_cuts.into_iter().enumerate().filter_map(|(n, bits)| Some((n, bits?))) {
            let this = (taste(candidate), candidate);
            let one = best.entry(bits).or_insert(this);
            *one = this.min(*one);
        }
        let mut all: Vec<(Best, Bits)> = best.into_iter().map(|(bits, one)| (one, bits)).collect();
        all.sort_unstable();
        let (ids, candidates) = all.into_iter().map(|((_, id), bits)| (id, bits)).unzip();
        Self::of(ids, candidates, cuts.len())
    }

    fn of(ids: Vec<usize>, candidates: Vec<Bits>, cuts: usize) -> Self {
        let mut all = vec![Bits::none(ids.len()); cuts];
        for (n, bits) in candidates.iter().enumerate() {
            bits.all().for_each(|cut| all[cut].put(n));
        }
        Self { ids, candidates, cuts: all }
    }

    /// What is left of it for some candidates and cuts.
    fn only(&self, candidates: &[usize], cuts: &[usize]) -> Self {
        let bits = |n: &usize| {
            let here = cuts.iter().enumerate().filter(|(_, cut)| self.candidates[*n].has(**cut));
            Bits::of(cuts.len(), here.map(|(position, _)| position))
        };
        Self::of(candidates.iter().map(|n| self.ids[*n]).collect(), candidates.iter().map(bits).collect(), cuts.len())
    }

    /// Leaves away a cut that another is part of, a candidate whose cuts another meets as well, and what only one candidate
    /// meets, which is chosen; as long as there is any. `None`: a cut has no candidate.
    pub fn shrunk(mut self, chosen: &mut Vec<usize>) -> Option<Self> {
        loop {
            if self.cuts.iter().any(|cut| cut.count() == 0) {
                return None;
            }
            let mut cuts = kept(&self.cuts, true);
            let mut only: Vec<usize> = cuts
                .iter()
                .filter(|cut| self.cuts[**cut].count() == 1)
                .filter_map(|cut| self.cuts[*cut].all().next())
                .collect();
            let met = |cut: &usize| only.iter().any(|n| self.candidates[*n].has(*cut));
            cuts.retain(|cut| !met(cut));
            only.sort_unstable();
            only.dedup();
            chosen.extend(only.iter().map(|n| self.ids[*n]));
            let before = (self.ids.len(), self.cuts.len());
            let all: Vec<usize> = (0..self.ids.len()).collect();
            let fewer = self.only(&all, &cuts);
            let candidates: Vec<usize> =
                kept(&fewer.candidates, false).into_iter().filter(|n| fewer.candidates[*n].count() > 0).collect();
            let all: Vec<usize> = (0..cuts.len()).collect();
            self = fewer.only(&candidates, &all);
            if before == (self.ids.len(), self.cuts.len()) {
                return Some(self);
            }
        }
    }

    /// What hangs together, apart; the smallest first.
    pub fn parts(self) -> Vec<Self> {
        let mut parts = Vec::new();
        let mut open = Bits::of(self.cuts.len(), 0..self.cuts.len());
        for first in 0..self.cuts.len() {
            if !open.has(first) {
                continue;
            }
            open.drop(first);
            let (mut cuts, mut queue) = (vec![first], vec![first]);
            let mut candidates = Bits::none(self.ids.len());
            while let Some(cut) = queue.pop() {
                for n in self.cuts[cut].without(&candidates).all() {
                    candidates.put(n);
                    for next in self.candidates[n].all() {
                        if open.has(next) {
                            open.drop(next);
                            cuts.push(next);
                            queue.push(next);
                        }
                    }
                }
            }
            cuts.sort_unstable();
            parts.push(self.only(&candidates.all().collect::<Vec<_>>(), &cuts));
        }
        parts.sort_by_key(|part| part.cuts.len());
        parts
    }
}

/// The sets that no other is part of (`smaller`), else those that are part of no other; of equal ones the first.
pub fn kept(sets: &[Bits], smaller: bool) -> Vec<usize> {
    let mut order: Vec<(u32, usize)> = sets.iter().enumerate().map(|(n, set)| (set.count(), n)).collect();
    order.sort_unstable_by_key(|(count, n)| (if smaller { i64::from(*count) } else { -i64::from(*count) }, *n));
    let mut kept: Vec<usize> = Vec::new();
    for (_, n) in order {
        let covers = |of: &usize| if smaller { sets[*of].within(&sets[n]) } else { sets[n].within(&sets[*of]) };
        if !kept.iter().any(covers) {
            kept.push(n);
        }
    }
    kept.sort_unstable();
    kept
}
