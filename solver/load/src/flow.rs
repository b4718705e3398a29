//! The cheapest flow of whole things through a network whose arcs go forward: successive shortest paths.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A node, by its number; arcs lead to higher ones.
pub type Node = usize;
/// An arc, by its number among those asked for.
pub type ArcId = usize;

/// So many may pass where there is no limit: more things than any book has.
pub const ANY: u32 = 1 << 30;
/// No arc.
const NONE: usize = usize::MAX;
/// Farther than any path.
const FAR: i64 = i64::MAX / 4;

/// A network, and the flow in it.
#[derive(Debug, Default)]
pub struct Network {
    /// Of each arc and, at odd numbers, its way back: where it leads, what may still pass, what one costs.
    ends: Vec<(Node, u32, i64)>,
    /// The first and the last arc out of each node, those back among them, and after each arc the next.
    out: Vec<[usize; 2]>,
    next: Vec<usize>,
    potential: Vec<i64>,
}

impl Network {
    /// One more node.
    pub fn node(&mut self) -> Node {
        self.out.push([NONE; 2]);
        self.out.len() - 1
    }

    /// An arc to a later node.
    pub fn arc(&mut self, from: Node, to: Node, most: u32, cost: i64) -> ArcId {
        debug_assert!(from < to, "arcs go forward");
        let id = self.ends.len();
        self.ends.push((to, most, cost));
        self.ends.push((from, 0, -cost));
        self.leads(from, id);
        self.leads(to, id + 1);
        id / 2
    }

    /// One more arc out of a node.
    fn leads(&mut self, from: Node, id: usize) {
        self.next.push(NONE);
        match self.out[from] {
            [NONE, _] => self.out[from] = [id; 2],
            [_, last] => {
                self.next[last] = id;
                self.out[from][1] = id;
            }
        }
    }

    /// The arcs out of a node, those back among them, in the order in which they came.
    fn out(&self, from: Node) -> impl Iterator<Item = usize> {
        let first = self.out[from][0];
        std::iter::successors((first != NONE).then_some(first), |id| Some(self.next[*id]).filter(|next| *next != NONE))
    }

    /// How many things go along an arc.
    pub fn along(&self, arc: ArcId) -> u32 {
        self.ends[2 * arc + 1].1
    }

    /// The arcs out of a node that things go along, each with where it leads.
    pub fn used(&self, from: Node) -> impl Iterator<Item = (ArcId, Node)> {
        let used = self.out(from).filter(|id| id % 2 == 0 && self.ends[id + 1].1 > 0);
        used.map(|id| (id / 2, self.ends[id].0))
    }

    /// Where an arc leads.
    pub fn head(&self, arc: ArcId) -> Node {
        self.ends[2 * arc].0
    }

    /// The last node.
    pub fn sink(&self) -> Node {
        self.out.len() - 1
    }

    /// One thing fewer along an arc, as a path is read off.
    pub fn take(&mut self, arc: ArcId) {
        self.ends[2 * arc + 1].1 -= 1;
    }

    /// Sends as much as can go from the first node to the last, as cheaply as it can; what it costs.
    pub fn send(&mut self) -> i64 {
        let (source, sink) = (0, self.out.len() - 1);
        self.potential = self.forward();
        let mut cost = 0;
        loop {
            let (mut reached, by) = self.nearest(&[(source, 0)], Some(sink));
            if reached[sink] >= FAR {
                return cost;
            }
            // What was not reached keeps its potential above all that was.
            let most = reached[sink];
            for distance in &mut reached {
                *distance = (*distance).min(most);
            }
            for (potential, distance) in self.potential.iter_mut().zip(&reached) {
                *potential += distance;
            }
            let mut at = sink;
            while at != source {
                let id = by[at];
                self.ends[id].1 -= 1;
                self.ends[id ^ 1].1 += 1;
                cost += self.ends[id].2;
                at = self.ends[id ^ 1].0;
            }
        }
    }

    /// The shortest ways from the first node, by the order of the nodes; 0 where there is none.
    fn forward(&self) -> Vec<i64> {
        let mut all = vec![FAR; self.out.len()];
        all[0] = 0;
        for from in 0..self.out.len() {
            // A node that no way leads to is as near as the sum of its arcs allows: any number below all others' will do.
            let here = if all[from] >= FAR { 0 } else { all[from] };
            all[from] = here;
            for id in self.out(from).filter(|id| id % 2 == 0) {
                let (to, most, cost) = self.ends[id];
                if most > 0 {
                    all[to] = all[to].min(here + cost);
                }
            }
        }
        all
    }

    /// Reduced distances from some nodes, each with its own start, and the arc by which each node is reached; as far as they are
    /// less than a last node's.
    fn nearest(&self, starts: &[(Node, i64)], last: Option<Node>) -> (Vec<i64>, Vec<usize>) {
        let mut reached = vec![FAR; self.out.len()];
        let mut by = vec![usize::MAX; self.out.len()];
        let mut open = BinaryHeap::new();
        for (node, distance) in starts {
            reached[*node] = *distance;
            open.push(Reverse((*distance, *node)));
        }
        // Nodes as near as the one at hand need no heap.
        let mut as_near: Vec<Node> = Vec::new();
        let mut distance = 0;
        loop {
            let from = match as_near.pop() {
                Some(node) => node,
                None => match open.pop() {
                    Some(Reverse((at, node))) => {
                        distance = at;
                        node
                    }
                    None => break,
                },
            };
            if last.is_some_and(|last| distance >= reached[last]) {
                break;
            }
            if distance > reached[from] {
                continue;
            }
            for id in self.out(from) {
                let (to, most, cost) = self.ends[id];
                if most == 0 {
                    continue;
                }
                let next = distance + cost + self.potential[from] - self.potential[to];
                if next < reached[to] {
                    reached[to] = next;
                    by[to] = id;
                    if next == distance { as_near.push(to) } else { open.push(Reverse((next, to))) }
                }
            }
        }
        (reached, by)
    }

    /// Prices of the nodes by which the flow is the cheapest: the cheapest way to each from any node, along what may still
    /// pass.
    pub fn prices(&self) -> Vec<i64> {
        let starts: Vec<(Node, i64)> = self.potential.iter().enumerate().map(|(node, p)| (node, -p)).collect();
        let (reached, _) = self.nearest(&starts, None);
        reached.iter().zip(&self.potential).map(|(distance, p)| distance + p).collect()
    }

    /// Others: less the cheapest way from each to any node.
    pub fn prices_back(&self) -> Vec<i64> {
        let potential = self.potential.iter().map(|p| -p).collect();
        let mut turned = Self { out: vec![[NONE; 2]; self.out.len()], potential, ..Self::default() };
        for id in 0..self.ends.len() {
            let ((to, most, cost), (from, ..)) = (self.ends[id], self.ends[id ^ 1]);
            if most > 0 {
                turned.leads(to, turned.ends.len());
                turned.ends.push((from, most, cost));
            }
        }
        turned.prices().into_iter().map(|price| -price).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flow_takes_the_cheapest_ways_and_its_prices_prove_it() {
        // Two things at `a`; one way on is paid for one thing alone, the other costs 1 each.
        let mut net = Network::default();
        let [source, a, b, sink] = std::array::from_fn(|_| net.node());
        net.arc(source, a, 2, 0);
        let paid = net.arc(a, b, 1, -5);
        let dear = net.arc(a, b, ANY, 1);
        net.arc(b, sink, ANY, 0);
        assert_eq!(net.send(), -4);
        assert_eq!((net.along(paid), net.along(dear)), (1, 1));
        for prices in [net.prices(), net.prices_back()] {
            for id in 0..net.ends.len() {
                let ((to, most, cost), (from, ..)) = (net.ends[id], net.ends[id ^ 1]);
                assert!(most == 0 || cost + prices[from] - prices[to] >= 0, "{prices:?}");
            }
        }
    }
}
