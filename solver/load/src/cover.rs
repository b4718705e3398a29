//! The fewest extra drives that meet every cut: made smaller first, then searched by branch and bound, in whole numbers.

use std::collections::{BTreeMap, BTreeSet};

/// Candidates that, together, meet every cut, as few as can be. Of those that are in the same cuts only the one that comes
/// first by `taste` may be chosen. `None`: a cut is empty, or it was given up.
pub fn fewest(cuts: &[Vec<usize>], taste: impl Fn(usize) -> (u32, usize)) -> Option<Vec<usize>> {
    let mut left = Left::new(cuts, &taste);
    let mut chosen = Vec::new();
    while left.shrink(&mut chosen) {}
    for part in left.parts() {
        chosen.extend(solved(&part)?);
    }
    cuts.iter().all(|cut| cut.iter().any(|of| chosen.contains(of))).then_some(chosen)
}

/// The cuts, each sorted, that no other is part of: what meets them meets all.
pub fn smallest(mut cuts: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    cuts.sort_unstable_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    cuts.dedup();
    let bits = as_bits(cuts.iter().map(|cut| cut.iter().copied()));
    let mut kept: Vec<(Vec<usize>, Bits)> = Vec::new();
    for (cut, bits) in cuts.into_iter().zip(bits) {
        if !kept.iter().any(|(_, smaller)| smaller.within(&bits)) {
            kept.push((cut, bits));
        }
    }
    kept.into_iter().map(|(cut, _)| cut).collect()
}

/// Sets as bits, one for each member that any of them has.
fn as_bits<M: Iterator<Item = usize>>(sets: impl Iterator<Item = M> + Clone) -> Vec<Bits> {
    let members: BTreeSet<usize> = sets.clone().flatten().collect();
    let position: BTreeMap<usize, usize> = members.iter().enumerate().map(|(n, of)| (*of, n)).collect();
    let of = |set: M| {
        let mut bits = Bits::none(members.len());
        set.for_each(|member| bits.put(position[&member], true));
        bits
    };
    sets.map(of).collect()
}

/// What is left to be chosen: candidates with the cuts that they meet, and the same the other way round.
#[derive(Debug, Default)]
struct Left {
    candidates: BTreeMap<usize, BTreeSet<usize>>,
    cuts: BTreeMap<usize, BTreeSet<usize>>,
}

impl Left {
    fn new(cuts: &[Vec<usize>], taste: &impl Fn(usize) -> (u32, usize)) -> Self {
        let mut pairs: Vec<(usize, usize)> =
            cuts.iter().enumerate().flat_map(|(cut, of)| of.iter().map(move |candidate| (*candidate, cut))).collect();
        pairs.sort_unstable();
        let mut groups: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
        for of in pairs.chunk_by(|a, b| a.0 == b.0) {
            let candidate = of[0].0;
            let best = groups.entry(of.iter().map(|(_, cut)| *cut).collect()).or_insert(candidate);
            if taste(candidate) < taste(*best) {
                *best = candidate;
            }
        }
        let mut left = Self::default();
        left.cuts.extend((0..cuts.len()).map(|cut| (cut, BTreeSet::new())));
        for (cuts, candidate) in groups {
            for cut in &cuts {
                left.cuts.entry(*cut).or_default().insert(candidate);
            }
            left.candidates.insert(candidate, cuts.into_iter().collect());
        }
        left
    }

    /// Leaves away what no fewest choice needs; whether anything was: a cut that another is part of, a candidate whose cuts
    /// another meets as well, and what only one candidate meets.
    fn shrink(&mut self, chosen: &mut Vec<usize>) -> bool {
        let idle: Vec<usize> = contained(&self.cuts, false);
        for cut in &idle {
            for of in self.cuts.remove(cut).into_iter().flatten() {
                self.candidates.get_mut(&of).map(|cuts| cuts.remove(cut));
            }
        }
        let poorer: Vec<usize> = contained(&self.candidates, true);
        for of in &poorer {
            for cut in self.candidates.remove(of).into_iter().flatten() {
                self.cuts.get_mut(&cut).map(|candidates| candidates.remove(of));
            }
        }
        let only: BTreeSet<usize> =
            self.cuts.values().filter(|of| of.len() == 1).filter_map(|of| of.first().copied()).collect();
        for of in &only {
            for cut in self.candidates.remove(of).into_iter().flatten() {
                for other in self.cuts.remove(&cut).into_iter().flatten().filter(|other| other != of) {
                    self.candidates.get_mut(&other).map(|cuts| cuts.remove(&cut));
                }
            }
        }
        chosen.extend(&only);
        !(idle.is_empty() && poorer.is_empty() && only.is_empty())
    }

    /// What hangs together, apart.
    fn parts(self) -> Vec<Left> {
        let mut parts = Vec::new();
        let mut open: BTreeSet<usize> = self.cuts.keys().copied().collect();
        while let Some(first) = open.pop_first() {
            let (mut part, mut queue) = (Left::default(), vec![first]);
            while let Some(cut) = queue.pop() {
                let candidates = &self.cuts[&cut];
                part.cuts.insert(cut, candidates.clone());
                for of in candidates {
                    let cuts = &self.candidates[of];
                    part.candidates.insert(*of, cuts.clone());
                    queue.extend(cuts.iter().filter(|cut| open.remove(cut)));
                }
            }
            parts.push(part);
        }
        parts
    }
}

/// Sets that may go: those that are part of another (`smaller`), else those that another is part of; of equal ones all but
/// the first.
fn contained(sets: &BTreeMap<usize, BTreeSet<usize>>, smaller: bool) -> Vec<usize> {
    let bits = as_bits(sets.values().map(|of| of.iter().copied()));
    let all: Vec<(usize, usize, Bits)> = sets.iter().zip(bits).map(|((id, of), bits)| (*id, of.len(), bits)).collect();
    let goes = |(id, len, of): &&(usize, usize, Bits)| {
        all.iter().any(|(other, size, by)| {
            let ((a, a_bits), (b, b_bits)) =
                if smaller { ((*len, of), (*size, by)) } else { ((*size, by), (*len, of)) };
            other != id && (a < b || (a == b && other < id)) && a_bits.within(b_bits)
        })
    };
    all.iter().filter(goes).map(|(id, ..)| *id).collect()
}

/// A part as sets of bits: which cuts each candidate meets, which candidates each cut has.
struct Search {
    candidates: Vec<Bits>,
    cuts: Vec<Bits>,
    /// Nodes that may still be looked at.
    nodes: usize,
}

/// Nodes after which a part is given up: far more than any book has wanted.
const MOST_NODES: usize = 3_000_000;

/// A set of small numbers.
#[derive(Clone, Debug, PartialEq)]
struct Bits(Vec<u64>);

impl Bits {
    fn none(len: usize) -> Self {
        Self(vec![0; len.div_ceil(64)])
    }
    fn put(&mut self, n: usize, is: bool) {
        let bit = 1 << (n % 64);
        if is { self.0[n / 64] |= bit } else { self.0[n / 64] &= !bit }
    }
    /// Whether all of it is in another set.
    fn within(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).all(|(a, b)| a & !b == 0)
    }
    fn all(&self) -> impl Iterator<Item = usize> {
        let within = |(n, word): (usize, &u64)| {
            let word = *word;
            (0..64).filter(move |bit| word >> bit & 1 == 1).map(move |bit| 64 * n + bit)
        };
        self.0.iter().enumerate().flat_map(within)
    }
    fn both(&self, other: &Self) -> u32 {
        self.0.iter().zip(&other.0).map(|(a, b)| (a & b).count_ones()).sum()
    }
    fn without(&self, other: &Self) -> Self {
        Self(self.0.iter().zip(&other.0).map(|(a, b)| a & !b).collect())
    }
    fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }
}

/// A fewest choice of a part: with one, else with one more, and so on. `None`: given up.
fn solved(part: &Left) -> Option<Vec<usize>> {
    let ids: Vec<usize> = part.candidates.keys().copied().collect();
    let cuts: Vec<usize> = part.cuts.keys().copied().collect();
    let mut search = Search {
        candidates: vec![Bits::none(cuts.len()); ids.len()],
        cuts: vec![Bits::none(ids.len()); cuts.len()],
        nodes: MOST_NODES,
    };
    let mut open = Bits::none(cuts.len());
    let mut allowed = Bits::none(ids.len());
    (0..ids.len()).for_each(|n| allowed.put(n, true));
    for (c, cut) in cuts.iter().enumerate() {
        open.put(c, true);
        for of in &part.cuts[cut] {
            let n = ids.binary_search(of).expect("a candidate of the part");
            search.candidates[n].put(c, true);
            search.cuts[c].put(n, true);
        }
    }
    for most in 1..=cuts.len() {
        let mut chosen = Vec::new();
        if search.meets(&open, allowed.clone(), most, &mut chosen) {
            return Some(chosen.into_iter().map(|n| ids[n]).collect());
        }
        if search.nodes == 0 {
            return None;
        }
    }
    None
}

impl Search {
    /// Whether so many of the allowed candidates meet all open cuts; which.
    fn meets(&mut self, open: &Bits, mut allowed: Bits, most: usize, chosen: &mut Vec<usize>) -> bool {
        if open.count() == 0 {
            return true;
        }
        if most == 0 || self.nodes == 0 {
            return false;
        }
        self.nodes -= 1;
        let mut most_met: Vec<u32> = allowed.all().map(|n| self.candidates[n].both(open)).collect();
        most_met.sort_unstable_by_key(|n| std::cmp::Reverse(*n));
        if most_met.iter().take(most).sum::<u32>() < open.count() || self.apart(open, &allowed) > most {
            return false;
        }
        let cut = open.all().min_by_key(|cut| self.cuts[*cut].both(&allowed)).expect("an open cut");
        let mut ways: Vec<usize> = self.cuts[cut].all().filter(|n| allowed.0[n / 64] >> (n % 64) & 1 == 1).collect();
        ways.sort_by_key(|n| std::cmp::Reverse(self.candidates[*n].both(open)));
        for n in ways {
            chosen.push(n);
            if self.meets(&open.without(&self.candidates[n]), allowed.clone(), most - 1, chosen) {
                return true;
            }
            chosen.pop();
            // What follows does without it.
            allowed.put(n, false);
        }
        false
    }

    /// Open cuts no two of which share an allowed candidate: each wants one of its own.
    fn apart(&self, open: &Bits, allowed: &Bits) -> usize {
        let mut order: Vec<usize> = open.all().collect();
        order.sort_by_key(|cut| self.cuts[*cut].both(allowed));
        let mut taken = Bits::none(self.candidates.len());
        let mut count = 0;
        for cut in order {
            let here = Bits(self.cuts[cut].0.iter().zip(&allowed.0).map(|(a, b)| a & b).collect());
            if here.both(&taken) == 0 {
                taken.0.iter_mut().zip(&here.0).for_each(|(all, more)| *all |= more);
                count += 1;
            }
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fewest_that_meet_every_cut_are_found() {
        // A triangle wants two of its corners; each of the cuts beside it has a candidate of its own as well.
        let cuts = vec![vec![1, 2, 9], vec![2, 3], vec![1, 3], vec![4, 5]];
        let found = fewest(&cuts, |candidate| (0, candidate)).expect("a choice");
        assert_eq!(found.len(), 3, "{found:?}");
        assert!(cuts.iter().all(|cut| cut.iter().any(|of| found.contains(of))), "{found:?}");
        assert!(found.contains(&4) && !found.contains(&5), "{found:?}");
        assert_eq!(fewest(&[vec![]], |candidate| (0, candidate)), None);
    }

    #[test]
    fn what_is_left_away_costs_no_more() {
        // Small cuts drawn by a rule, against every subset.
        for seed in 0..200_usize {
            let draw = |n: usize| (seed * 7919 + n * 104_729) / 13 % 9;
            let cuts: Vec<Vec<usize>> = (0..7).map(|cut| (0..3).map(|n| draw(cut * 3 + n)).collect()).collect();
            let meets = |set: u32| cuts.iter().all(|cut| cut.iter().any(|of| set >> of & 1 == 1));
            let least = (0..512_u32).filter(|set| meets(*set)).map(u32::count_ones).min().expect("all of them");
            let found = fewest(&cuts, |candidate| (0, candidate)).expect("a choice");
            assert_eq!(found.len(), least as usize, "{cuts:?}: {found:?}");
        }
    }
}
