//! The fewest extra drives that meet every cut: made smaller first ([`Left`]), then searched by branch and bound, in whole
//! numbers.

use crate::bits::Bits;
use crate::left::Left;

/// Nodes after which a proof is given up.
pub const MOST_NODES: usize = 60_000;
/// Nodes after which one that is not needed yet is.
pub const FEW_NODES: usize = 400;

/// A choice of candidates.
#[derive(Debug)]
pub struct Choice {
    /// Candidates that, together, meet every cut; `None`: a cut is empty, or nothing was found.
    pub chosen: Option<Vec<usize>>,
    /// So many it takes at least.
    pub least: usize,
}

/// Candidates that meet every cut, as few as can be where that is proven within so many nodes. Of those that are in the same
/// cuts only the one that comes first by `taste` may be chosen. `least`: so many it is known to take.
pub fn fewest(cuts: &[Vec<usize>], least: usize, nodes: usize, taste: impl Fn(usize) -> (u32, usize)) -> Choice {
    let mut chosen = Vec::new();
    let Some(left) = Left::new(cuts, &taste).shrunk(&mut chosen) else { return Choice { chosen: None, least } };
    let parts = left.parts();
    let mut takes = chosen.len();
    for (n, part) in parts.iter().enumerate() {
        // The largest comes last: what the others do not take of what is known to be taken is its share.
        let known = if n + 1 == parts.len() && takes == chosen.len() { least.saturating_sub(takes) } else { 1 };
        let mut search = Search { part, nodes };
        let (found, at_least) = search.fewest(known.max(1));
        takes += at_least;
        let Some(found) = found else { return Choice { chosen: None, least } };
        chosen.extend(found.into_iter().map(|n| part.ids[n]));
    }
    Choice { chosen: Some(chosen), least: takes.max(least) }
}

/// Cuts, none of which is part of another: what meets them meets all that were added.
#[derive(Debug, Default)]
pub struct Cuts {
    all: Vec<Vec<usize>>,
    bits: Vec<Bits>,
}

impl Cuts {
    /// All of them.
    pub fn all(&self) -> &[Vec<usize>] {
        &self.all
    }

    /// One more, of candidates under so many; those that it is part of go.
    pub fn add(&mut self, cut: Vec<usize>, candidates: usize) {
        let new = Bits::of(candidates, cut.iter().copied());
        if self.bits.iter().any(|of| of.within(&new)) {
            return;
        }
        let keep: Vec<bool> = self.bits.iter().map(|of| !new.within(of)).collect();
        let mut each = keep.iter();
        self.all.retain(|_| *each.next().unwrap_or(&true));
        let mut each = keep.iter();
        self.bits.retain(|_| *each.next().unwrap_or(&true));
        self.all.push(cut);
        self.bits.push(new);
    }
}

/// One candidate, in shares.
const WHOLE: u64 = 1 << 40;

/// Which candidates of a part meet its cuts.
struct Search<'a> {
    part: &'a Left,
    /// Nodes that may still be looked at.
    nodes: usize,
}

impl Search<'_> {
    /// A choice, and how many it takes at least: with so many as are known, else with one more, and so on. Where the nodes do
    /// not suffice for a proof, the next is tried with as many again; in the end one by one is chosen what meets most.
    fn fewest(&mut self, known: usize) -> (Option<Vec<usize>>, usize) {
        let (ids, cuts) = (self.part.ids.len(), self.part.cuts.len());
        let (nodes, mut least) = (self.nodes, None);
        let (open, allowed) = (Bits::of(cuts, 0..cuts), Bits::of(ids, 0..ids));
        let quick = self.one_by_one();
        for most in known.. {
            if quick.len() <= most {
                return (Some(quick), least.unwrap_or(most));
            }
            let mut chosen = Vec::new();
            self.nodes = nodes;
            if self.meets(&open, allowed.clone(), most, &mut chosen) {
                return (Some(chosen), least.unwrap_or(most));
            }
            if self.nodes == 0 {
                least.get_or_insert(most);
            }
        }
        (None, known)
    }

    /// What meets most of what is open, one after the other.
    fn one_by_one(&self) -> Vec<usize> {
        let mut open = Bits::of(self.part.cuts.len(), 0..self.part.cuts.len());
        let mut chosen = Vec::new();
        while open.count() > 0 {
            let best =
                (0..self.part.ids.len()).max_by_key(|n| (self.part.candidates[*n].both(&open), std::cmp::Reverse(*n)));
            let Some(best) = best else { break };
            open = open.without(&self.part.candidates[best]);
            chosen.push(best);
        }
        chosen
    }

    /// Whether so many of the allowed candidates meet all open cuts; which.
    fn meets(&mut self, open: &Bits, mut allowed: Bits, most: usize, chosen: &mut Vec<usize>) -> bool {
        if open.count() == 0 {
            return true;
        }
        if most == 0 || self.nodes == 0 {
            return false;
        }
        self.nodes -= 1;
        if !self.may(open, &mut allowed, most) {
            return false;
        }
        let part = self.part;
        let cut = open.all().min_by_key(|cut| part.cuts[*cut].both(&allowed)).expect("an open cut");
        let mut ways: Vec<usize> = part.cuts[cut].common(&allowed).collect();
        ways.sort_by_key(|n| std::cmp::Reverse(part.candidates[*n].both(open)));
        for n in ways {
            chosen.push(n);
            if self.meets(&open.without(&part.candidates[n]), allowed.clone(), most - 1, chosen) {
                return true;
            }
            chosen.pop();
            // What follows does without it.
            allowed.drop(n);
        }
        false
    }

    /// Whether so many may do, by shares: each open cut asks for a share of one candidate, and no candidate is asked for more
    /// than itself. At first a cut asks for what every one of its candidates has for each of its cuts, then for what is left.
    /// A candidate of which so much is left that it cannot be among so many is allowed no more.
    fn may(&self, open: &Bits, allowed: &mut Bits, most: usize) -> bool {
        let part = self.part;
        let mut left = vec![0; part.ids.len()];
        let mut per_cut = vec![0; part.ids.len()];
        for n in allowed.all() {
            left[n] = WHOLE;
            per_cut[n] = WHOLE / u64::from(part.candidates[n].both(open).max(1));
        }
        let mut sum = 0;
        let mut order: Vec<(u32, usize)> = Vec::new();
        for cut in open.all() {
            let of = || part.cuts[cut].common(allowed);
            let Some(share) = of().map(|n| per_cut[n]).min() else { return false };
            of().for_each(|n| left[n] -= share);
            sum += share;
            order.push((part.cuts[cut].both(allowed), cut));
        }
        order.sort_unstable();
        for (_, cut) in order {
            let of = || part.cuts[cut].common(allowed);
            let more = of().map(|n| left[n]).min().unwrap_or(0);
            if more > 0 {
                of().for_each(|n| left[n] -= more);
                sum += more;
            }
        }
        let most = most as u64 * WHOLE;
        let no_more: Vec<usize> = allowed.all().filter(|n| sum + left[*n] > most).collect();
        for n in no_more {
            allowed.drop(n);
        }
        sum <= most
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fewest_that_meet_every_cut_are_found() {
        // A triangle wants two of its corners; each of the cuts beside it has a candidate of its own as well.
        let cuts = vec![vec![1, 2, 9], vec![2, 3], vec![1, 3], vec![4, 5]];
        let found = fewest(&cuts, 0, MOST_NODES, |candidate| (0, candidate)).chosen.expect("a choice");
        assert_eq!(found.len(), 3, "{found:?}");
        assert!(cuts.iter().all(|cut| cut.iter().any(|of| found.contains(of))), "{found:?}");
        assert!(found.contains(&4) && !found.contains(&5), "{found:?}");
        assert_eq!(fewest(&[vec![]], 0, MOST_NODES, |candidate| (0, candidate)).chosen, None);
    }

    #[test]
    fn what_is_left_away_costs_no_more() {
        // Small cuts drawn by a rule, against every subset.
        for seed in 0..200_usize {
            let draw = |n: usize| (seed * 7919 + n * 104_729) / 13 % 9;
            let cuts: Vec<Vec<usize>> = (0..7).map(|cut| (0..3).map(|n| draw(cut * 3 + n)).collect()).collect();
            let meets = |set: u32| cuts.iter().all(|cut| cut.iter().any(|of| set >> of & 1 == 1));
            let least = (0..512_u32).filter(|set| meets(*set)).map(u32::count_ones).min().expect("all of them");
            let found = fewest(&cuts, 0, MOST_NODES, |candidate| (0, candidate)).chosen.expect("a choice");
            assert_eq!(found.len(), least as usize, "{cuts:?}: {found:?}");
        }
    }
}
