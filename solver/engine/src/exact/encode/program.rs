//! A mixed-integer program in whole numbers: columns, rows that know their rule, and values that follow from others.

pub use yardless_plan::Rule;

/// A column of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Col(pub(crate) u32);

impl Col {
    /// Its position among the columns.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A sum of columns with whole factors.
pub type Terms = Vec<(Col, i64)>;

/// What a row states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum States {
    /// A planning rule.
    Rule(Rule),
    /// A column that is a sum of others, by definition.
    Sum,
    /// Follows from the rules for whole numbers, and makes the relaxation tighter.
    Cut,
    /// Alike crews are told apart in one order only.
    Order,
    /// A branch of all plans only.
    Branch,
}

impl From<Rule> for States {
    fn from(rule: Rule) -> Self {
        Self::Rule(rule)
    }
}

/// A row: `at_least <= sum of terms <= at_most`.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it states.
    pub states: States,
    /// Least value.
    pub at_least: Option<i64>,
    /// Greatest value.
    pub at_most: Option<i64>,
    /// The sum.
    pub terms: Terms,
}

/// How a column gets its value in a plan that is already known.
#[derive(Clone, Debug, PartialEq)]
enum Value {
    /// It is decided: given from outside.
    Decided,
    /// A sum of earlier columns and a constant.
    Sum(Terms, i64),
    /// The greatest of several such sums, 0 at least.
    Greatest(Vec<Terms>),
    /// The least of several such sums, its upper bound at most.
    Least(Vec<Terms>),
    /// By how much such a sum is over a number; 0 at least.
    Over(Terms, i64),
}

/// The program: minimise the cost in cents, every column from 0 to its upper bound.
#[derive(Clone, Debug, Default)]
pub struct Program {
    /// Cost of one, in cents.
    pub cost: Vec<i64>,
    /// Upper bound.
    pub upper: Vec<i64>,
    /// Whether only whole values count.
    pub whole: Vec<bool>,
    /// The rows.
    pub rows: Vec<Row>,
    /// A cost that every plan has.
    pub constant: i64,
    values: Vec<Value>,
}

impl Program {
    fn push(&mut self, cost: i64, upper: i64, whole: bool, value: Value) -> Col {
        self.cost.push(cost);
        self.upper.push(upper);
        self.whole.push(whole);
        self.values.push(value);
        Col(self.cost.len() as u32 - 1)
    }

    /// A decision in whole numbers.
    pub fn decide(&mut self, cost: i64, upper: i64) -> Col {
        self.push(cost, upper, true, Value::Decided)
    }

    /// A column that equals a sum and a constant.
    pub fn sum(&mut self, upper: i64, terms: Terms, constant: i64) -> Col {
        let col = self.push(0, upper, false, Value::Sum(terms.clone(), constant));
        let mut row = terms;
        row.push((col, -1));
        self.rows.push(Row { states: States::Sum, at_least: Some(-constant), at_most: Some(-constant), terms: row });
        col
    }

    /// A column at least as great as each sum, and 0.
    pub fn greatest(&mut self, states: impl Into<States>, upper: i64, of: Vec<Terms>) -> Col {
        let states = states.into();
        let col = self.push(0, upper, false, Value::Greatest(of.clone()));
        for mut terms in of {
            terms.push((col, -1));
            self.at_most(states, terms, 0);
        }
        col
    }

    /// A column at most as great as each sum, and its upper bound.
    pub fn least(&mut self, states: impl Into<States>, upper: i64, of: Vec<Terms>) -> Col {
        let states = states.into();
        let col = self.push(0, upper, false, Value::Least(of.clone()));
        for terms in of {
            let mut row: Terms = terms.into_iter().map(|(c, n)| (c, -n)).collect();
            row.push((col, 1));
            self.at_most(states, row, 0);
        }
        col
    }

    /// A column at least as great as what a sum is over a number, and 0.
    pub fn over(&mut self, states: impl Into<States>, cost: i64, terms: Terms, most: i64) -> Col {
        let upper = terms.iter().map(|(_, n)| n.max(&0)).sum();
        let col = self.push(cost, upper, false, Value::Over(terms.clone(), most));
        let mut row = terms;
        row.push((col, -1));
        self.at_most(states, row, most);
        col
    }

    /// `sum of terms <= most`.
    pub fn at_most(&mut self, states: impl Into<States>, terms: Terms, most: i64) {
        self.rows.push(Row { states: states.into(), at_least: None, at_most: Some(most), terms });
    }

    /// `sum of terms == value`.
    pub fn equal(&mut self, states: impl Into<States>, terms: Terms, value: i64) {
        self.rows.push(Row { states: states.into(), at_least: Some(value), at_most: Some(value), terms });
    }

    /// Leaves each of the rows from a position on there once.
    pub(super) fn once(&mut self, from: usize) {
        let mut rows: Vec<Row> = Vec::new();
        for row in self.rows.split_off(from) {
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
        self.rows.extend(rows);
    }

    /// How many columns.
    pub fn columns(&self) -> usize {
        self.cost.len()
    }

    /// Fills the columns that follow from the decided ones, in the order in which they were made.
    pub fn follow(&self, decided: &mut [i64]) {
        let sum = |values: &[i64], terms: &Terms| terms.iter().map(|(col, n)| n * values[col.index()]).sum::<i64>();
        for (i, value) in self.values.iter().enumerate() {
            let filled = match value {
                Value::Decided => continue,
                Value::Sum(terms, constant) => sum(decided, terms) + constant,
                Value::Greatest(of) => of.iter().map(|terms| sum(decided, terms)).max().unwrap_or(0).max(0),
                Value::Over(terms, most) => (sum(decided, terms) - most).max(0),
                Value::Least(of) => of.iter().map(|terms| sum(decided, terms)).fold(self.upper[i], i64::min),
            };
            decided[i] = filled;
        }
    }

    /// The cost of a full set of values, and the first row that they break.
    pub fn weigh(&self, values: &[i64]) -> Result<i64, &Row> {
        for row in &self.rows {
            let sum: i64 = row.terms.iter().map(|(col, n)| n * values[col.index()]).sum();
            if row.at_least.is_some_and(|least| sum < least) || row.at_most.is_some_and(|most| sum > most) {
                return Err(row);
            }
        }
        Ok(self.constant + self.cost.iter().zip(values).map(|(cost, value)| cost * value).sum::<i64>())
    }
}
