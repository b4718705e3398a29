//! What is known of hauls while trials put in the same job, so that none is looked for twice.

/// Where units go hangs on the ways, starts and ends of the job's steps so far alone: each such beginning is a node,
/// and what the hauls for its next step cost is kept by way, start and end.
pub(super) struct HaulMemo {
    /// Half-days of the horizon.
    len: usize,
    /// The node of the steps placed by now.
    at: usize,
    /// For each node the first entry by way and start, once asked for.
    nodes: Vec<Vec<u32>>,
    entries: Vec<Entry>,
}

struct Entry {
    end: usize,
    hauls: Option<i64>,
    /// The node when the step has been placed so.
    then: Option<usize>,
    /// The next entry for the same way and start.
    next: u32,
}

const NONE: u32 = u32::MAX;

impl HaulMemo {
    pub(super) fn new(len: usize) -> Self {
        Self { len, at: 0, nodes: vec![Vec::new()], entries: Vec::new() }
    }

    /// No step is placed.
    pub(super) fn begin(&mut self) {
        self.at = 0;
    }

    /// What the hauls cost by an entry; none where there are none.
    pub(super) fn hauls(&self, entry: usize) -> Option<i64> {
        self.entries[entry].hauls
    }

    /// The entry for the next step done so, where there is one.
    pub(super) fn find(&self, way: usize, start: usize, end: usize) -> Option<usize> {
        let mut entry = *self.nodes[self.at].get(way * self.len + start)?;
        while entry != NONE {
            let found = &self.entries[entry as usize];
            if found.end == end {
                return Some(entry as usize);
            }
            entry = found.next;
        }
        None
    }

    /// Keeps what has been found out.
    pub(super) fn learn(&mut self, way: usize, start: usize, end: usize, hauls: Option<i64>) {
        let first = &mut self.nodes[self.at];
        if first.len() < (way + 1) * self.len {
            first.resize((way + 1) * self.len, NONE);
        }
        let first = &mut first[way * self.len + start];
        self.entries.push(Entry { end, hauls, then: None, next: *first });
        *first = self.entries.len() as u32 - 1;
    }

    /// The next step is placed in two spans, or with trucks of its crew: nothing is known of those after it.
    pub(super) fn go_astray(&mut self) {
        self.at = self.nodes.len();
        self.nodes.push(Vec::new());
    }

    /// The next step is placed, as has been learnt before.
    pub(super) fn go_on(&mut self, way: usize, start: usize, end: usize) {
        let Some(entry) = self.find(way, start, end) else { return };
        let new = self.nodes.len();
        self.at = *self.entries[entry].then.get_or_insert(new);
        if self.at == new {
            self.nodes.push(Vec::new());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_hauls_belong_to_the_steps_placed_before() {
        let mut memo = HaulMemo::new(10);
        memo.learn(0, 3, 4, Some(700));
        // The same start with another end, and with another way, are runs of their own.
        memo.learn(0, 3, 5, None);
        let cents = |memo: &HaulMemo, way, start, end| memo.find(way, start, end).map(|entry| memo.hauls(entry));
        assert_eq!(cents(&memo, 0, 3, 4), Some(Some(700)));
        assert_eq!(cents(&memo, 0, 3, 5), Some(None));
        assert_eq!(cents(&memo, 1, 3, 4), None);
        // After the first step nothing is known of the second, until learnt; the first step's are not forgotten.
        memo.go_on(0, 3, 4);
        assert_eq!(cents(&memo, 0, 3, 4), None);
        memo.learn(0, 6, 7, Some(50));
        memo.begin();
        assert_eq!((cents(&memo, 0, 6, 7), cents(&memo, 0, 3, 4)), (None, Some(Some(700))));
        memo.go_on(0, 3, 5);
        assert_eq!(cents(&memo, 0, 6, 7), None);
        memo.begin();
        memo.go_on(0, 3, 4);
        assert_eq!(cents(&memo, 0, 6, 7), Some(Some(50)));
    }
}
