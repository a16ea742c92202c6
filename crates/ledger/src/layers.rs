//! What one item in stock is worth, layer by layer.
//!
//! Goods come in at what they cost and go out at a cost that the method
//! decides. The law that holds after every call:
//!
//! > received = taken + on hand + variance, in quantity (without the variance)
//! > and in value.
//!
//! More can be taken than is there, because a count may be late: what is
//! missing is *owed*, at the last known cost of a unit, and stands on hand
//! below zero. The next receipts settle it, oldest first, and what that cost turned out to
//! differ by is the *variance*, which belongs to the cost of the goods sold.

use std::collections::VecDeque;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::value::Value;

/// How goods that go out are valued.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// What came in first goes out first, at what it cost.
    #[default]
    Fifo,
    /// Everything on hand costs the same: a moving average, made anew with
    /// every receipt.
    Average,
}

impl Method {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Fifo => Self::Average,
            Self::Average => Self::Fifo,
        }
    }

    /// Its name in sentences.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fifo => "first in, first out",
            Self::Average => "moving average",
        }
    }
}

/// What is left of one receipt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layer {
    /// The receipt, as its caller knows it.
    pub key: u64,
    /// How much is left, in whole smallest units.
    pub quantity: i64,
    /// What that is worth.
    pub value: Value,
}

/// What was taken out of one layer.
pub type Part = Layer;

/// What was taken beyond what was there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Short {
    /// How much, in whole smallest units.
    pub quantity: i64,
    /// What it is taken to cost until a receipt says otherwise.
    pub value: Value,
    /// Whether any receipt had said what a unit costs; if not, `value` is
    /// nothing.
    pub cost_known: bool,
}

/// What went out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// What it cost, `short` included.
    pub value: Value,
    /// The layers it came from, oldest first. With the moving average they say
    /// which receipts are used up, each at the average.
    pub parts: Vec<Part>,
    /// What was not there.
    pub short: Option<Short>,
}

/// What a receipt settled of what was owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Settled {
    /// How much, in whole smallest units.
    pub quantity: i64,
    /// What it really cost less what it was taken to cost.
    pub variance: Value,
}

/// The stock of one item.
///
/// Quantities are whole smallest units, pieces or micrograms, up to
/// [`i64::MAX`] on hand; a receipt or a take beyond that is cut to it.
///
/// # Example
///
/// ```
/// use ledger::{Method, Stock, Value};
///
/// let mut stock = Stock::new(Method::Fifo);
/// stock.receive(1, 100, Value::from_millionths(1000));
/// stock.receive(2, 100, Value::from_millionths(1200));
/// let taken = stock.take(150);
/// assert_eq!(taken.value.millionths(), 1000 + 600);
/// assert_eq!((stock.quantity(), stock.value().millionths()), (50, 600));
/// ```
#[derive(Debug, Clone)]
pub struct Stock {
    method: Method,
    /// Oldest first. With the moving average their values are left at nothing
    /// and `worth` holds them all.
    layers: VecDeque<Layer>,
    /// In the layers.
    there: i64,
    /// Worth of the layers.
    worth: Value,
    /// Taken beyond what was there and not settled yet, oldest first, each at
    /// what it was taken to cost.
    missing: VecDeque<(i64, Value)>,
    owed: i64,
    owed_at: Value,
    /// The last known cost: a value of a quantity above zero.
    last: Option<(Value, i64)>,
    received: (i128, Value),
    taken: (i128, Value),
    variance: Value,
}

impl Stock {
    /// Starts with nothing.
    pub const fn new(method: Method) -> Self {
        Self {
            method,
            layers: VecDeque::new(),
            there: 0,
            worth: Value::ZERO,
            missing: VecDeque::new(),
            owed: 0,
            owed_at: Value::ZERO,
            last: None,
            received: (0, Value::ZERO),
            taken: (0, Value::ZERO),
            variance: Value::ZERO,
        }
    }

    /// The method it is valued by.
    pub const fn method(&self) -> Method {
        self.method
    }

    /// On hand, in whole smallest units; below zero when some is owed.
    pub const fn quantity(&self) -> i64 {
        self.there - self.owed
    }

    /// What is on hand is worth; below zero when some is owed.
    pub fn value(&self) -> Value {
        self.worth - self.owed_at
    }

    /// What was taken and is not settled yet: how much, and at what.
    pub const fn owed(&self) -> (i64, Value) {
        (self.owed, self.owed_at)
    }

    /// Everything that ever came in.
    pub const fn received(&self) -> (i128, Value) {
        self.received
    }

    /// Everything that ever went out, at what it was then taken to cost.
    pub const fn taken(&self) -> (i128, Value) {
        self.taken
    }

    /// What settling turned out to cost more than was assumed.
    pub const fn variance(&self) -> Value {
        self.variance
    }

    /// The last known cost of a unit, as a value and the quantity it is of.
    pub const fn unit_cost(&self) -> Option<(Value, i64)> {
        self.last
    }

    /// What is left of each receipt, oldest first. Their quantities and values
    /// add up to what is there. With the moving average each has its share.
    pub fn layers(&self) -> Vec<Layer> {
        match self.method {
            Method::Fifo => self.layers.iter().copied().collect(),
            Method::Average => {
                let (mut rest, mut worth) = (self.there, self.worth);
                let share = |layer: &Layer| {
                    let value = worth.share(layer.quantity, rest);
                    rest -= layer.quantity;
                    worth -= value;
                    Layer { value, ..*layer }
                };
                self.layers.iter().map(share).collect()
            }
        }
    }

    /// Takes in goods for what they cost. What is owed is settled first.
    ///
    /// A receipt of nothing (`quantity` zero or below) has no unit to carry
    /// its value, which goes to the variance.
    pub fn receive(&mut self, key: u64, quantity: i64, value: Value) -> Settled {
        let room = i64::MAX - self.there;
        let quantity = quantity.clamp(0, room);
        self.received.0 += i128::from(quantity);
        self.received.1 += value;
        if quantity == 0 {
            self.variance += value;
            return Settled {
                quantity: 0,
                variance: value,
            };
        }
        let settled = quantity.min(self.owed);
        let (mut real, mut variance) = (Value::ZERO, Value::ZERO);
        if settled > 0 {
            real = value.share(settled, quantity);
            variance = real - self.settle(settled);
            self.variance += variance;
        }
        let (rest, worth) = (quantity - settled, value - real);
        self.last = Some((value, quantity));
        if rest > 0 {
            self.there += rest;
            self.worth += worth;
            let value = match self.method {
                Method::Fifo => worth,
                Method::Average => Value::ZERO,
            };
            self.layers.push_back(Layer {
                key,
                quantity: rest,
                value,
            });
            if self.method == Method::Average {
                self.last = Some((self.worth, self.there));
            }
        }
        Settled {
            quantity: settled,
            variance,
        }
    }

    /// Takes goods out and says what they cost; nothing for a `quantity` of
    /// zero or below.
    pub fn take(&mut self, quantity: i64) -> Taken {
        let mut taken = Taken {
            value: Value::ZERO,
            parts: Vec::new(),
            short: None,
        };
        if quantity <= 0 {
            return taken;
        }
        let from_stock = quantity.min(self.there);
        match self.method {
            Method::Fifo => self.take_oldest(from_stock, &mut taken),
            Method::Average => self.take_at_average(from_stock, &mut taken),
        }
        let missing = (quantity - from_stock).min(i64::MAX - self.owed);
        if missing > 0 {
            let value = match self.last {
                Some((value, of)) => value.share(missing, of),
                None => Value::ZERO,
            };
            self.missing.push_back((missing, value));
            self.owed += missing;
            self.owed_at += value;
            taken.value += value;
            taken.short = Some(Short {
                quantity: missing,
                value,
                cost_known: self.last.is_some(),
            });
        }
        self.taken.0 += i128::from(from_stock + missing);
        self.taken.1 += taken.value;
        taken
    }

    /// Takes what is owed longest off, and says what it was taken to cost.
    fn settle(&mut self, quantity: i64) -> Value {
        let (mut left, mut assumed) = (quantity, Value::ZERO);
        while left > 0 {
            let Some((owed, value)) = self.missing.front_mut() else {
                break;
            };
            let part = left.min(*owed);
            let share = value.share(part, *owed);
            *owed -= part;
            *value -= share;
            left -= part;
            assumed += share;
            if *owed == 0 {
                self.missing.pop_front();
            }
        }
        self.owed -= quantity;
        self.owed_at -= assumed;
        assumed
    }

    fn take_oldest(&mut self, quantity: i64, taken: &mut Taken) {
        let mut left = quantity;
        while left > 0 {
            let Some(oldest) = self.layers.front_mut() else {
                break;
            };
            let part = Layer {
                key: oldest.key,
                quantity: oldest.quantity.min(left),
                value: oldest
                    .value
                    .share(oldest.quantity.min(left), oldest.quantity),
            };
            oldest.quantity -= part.quantity;
            oldest.value -= part.value;
            left -= part.quantity;
            taken.value += part.value;
            taken.parts.push(part);
            if oldest.quantity == 0 {
                self.layers.pop_front();
            }
        }
        self.there -= quantity;
        self.worth -= taken.value;
    }

    fn take_at_average(&mut self, quantity: i64, taken: &mut Taken) {
        taken.value = self.worth.share(quantity, self.there);
        self.there -= quantity;
        self.worth -= taken.value;
        let (mut left, mut worth) = (quantity, taken.value);
        while left > 0 {
            let Some(oldest) = self.layers.front_mut() else {
                break;
            };
            let from_it = oldest.quantity.min(left);
            let value = worth.share(from_it, left);
            taken.parts.push(Layer {
                key: oldest.key,
                quantity: from_it,
                value,
            });
            oldest.quantity -= from_it;
            left -= from_it;
            worth -= value;
            if oldest.quantity == 0 {
                self.layers.pop_front();
            }
        }
    }
}
