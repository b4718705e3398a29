//! A portfolio of two searches, one a core, that exchange what they find after fixed numbers of rounds: the same every time.

use super::neighbourhoods::NeighbourhoodSearch;

/// Two searches from one first plan.
pub(crate) struct Portfolio<'s> {
    first: NeighbourhoodSearch<'s>,
    second: NeighbourhoodSearch<'s>,
}

impl<'s> Portfolio<'s> {
    pub(crate) fn new(first: NeighbourhoodSearch<'s>, seed: u64) -> Self {
        // Any other seed will do, as long as it is the same one every time.
        let second = first.again(seed ^ 0x9e37_79b9_7f4a_7c15);
        Self { first, second }
    }

    /// So many rounds of both together; then the worse one goes on from the better one's plan.
    pub(crate) fn rounds(&mut self, rounds: u64, over: &(dyn Fn() -> bool + Sync)) {
        let (first, second) = (&mut self.first, &mut self.second);
        let run = |search: &mut NeighbourhoodSearch<'s>, rounds: u64| {
            for _ in 0..rounds {
                if over() {
                    break;
                }
                search.step();
            }
        };
        std::thread::scope(|scope| {
            scope.spawn(|| run(second, rounds / 2));
            run(first, rounds - rounds / 2);
        });
        if first.best().cost() < second.best().cost() {
            second.go_on_from(first.best());
        } else if second.best().cost() < first.best().cost() {
            first.go_on_from(second.best());
        }
    }

    /// The one with the best plan: both have it after [`rounds`](Self::rounds).
    pub(crate) fn best(&self) -> &NeighbourhoodSearch<'s> {
        &self.first
    }

    /// The one that goes on alone.
    pub(crate) fn first(&mut self) -> &mut NeighbourhoodSearch<'s> {
        &mut self.first
    }
}
