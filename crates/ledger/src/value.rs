//! Money fine enough that a unit's share of it can be taken away.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

use measure::{Cost, Currency, Decimal, Money};
use serde::{Deserialize, Serialize};

/// An amount in whole millionths of a minor unit (of a cent, of a penny).
///
/// Its currency is its owner's to know. Sums are exact; past the range of an
/// `i128` they stop at its end.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Value(i128);

/// Millionths in a minor unit.
const PER_MINOR: i128 = 1_000_000;

impl Value {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// Makes an amount from millionths of a minor unit.
    pub const fn from_millionths(millionths: i128) -> Self {
        Self(millionths)
    }

    /// The amount in millionths of a minor unit.
    pub const fn millionths(self) -> i128 {
        self.0
    }

    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// The same amount as money that was paid. Exact.
    pub fn from_money(money: Money) -> Self {
        Self(i128::from(money.minor()) * PER_MINOR)
    }

    /// The value of `quantity` at a cost for each `per`, rounded half-even to
    /// the millionth; none when it does not fit or `per` is not above zero.
    ///
    /// With `quantity` and `per` both 1 it is the cost itself.
    pub fn at(cost: Cost, quantity: i64, per: i64) -> Option<Self> {
        if per <= 0 {
            return None;
        }
        let figure = cost.major().normalize();
        let finer = minor_places(cost.currency()) + 6;
        let mut over = figure.mantissa().checked_mul(i128::from(quantity))?;
        let mut under = i128::from(per);
        match figure.scale().checked_sub(finer) {
            Some(coarser) => under = under.checked_mul(10_i128.checked_pow(coarser)?)?,
            None => over = over.checked_mul(10_i128.checked_pow(finer - figure.scale())?)?,
        }
        Some(Self(half_even(over, under)))
    }

    /// The exact amount in major units; none when it has more than 28 digits.
    pub fn to_cost(self, currency: Currency) -> Option<Cost> {
        let places = minor_places(currency) + 6;
        let major = Decimal::try_from_i128_with_scale(self.0, places).ok()?;
        Some(Cost::new(major.normalize(), currency))
    }

    /// The amount rounded half-even to the minor unit; none when money cannot
    /// hold it.
    pub fn to_money(self, currency: Currency) -> Option<Money> {
        let minor = i64::try_from(half_even(self.0, PER_MINOR)).ok()?;
        Some(Money::from_minor(minor, currency))
    }

    /// The share `part ÷ whole` of the amount, rounded half-even to the
    /// millionth; nothing when `whole` is not above zero.
    ///
    /// A share of the whole is the whole, so that what is left after a share
    /// was taken never misses or keeps a millionth.
    #[must_use]
    pub fn share(self, part: i64, whole: i64) -> Self {
        if whole <= 0 || part == 0 {
            return Self::ZERO;
        }
        if part == whole {
            return self;
        }
        let (part, whole) = (i128::from(part), i128::from(whole));
        // An amount of everyday size takes one multiplication and one division.
        if let Some(product) = self.0.checked_mul(part) {
            return Self(half_even(product, whole));
        }
        // The remainder is below 2^63, so its product fits.
        let (each, rest) = (self.0.div_euclid(whole), self.0.rem_euclid(whole));
        Self(
            each.saturating_mul(part)
                .saturating_add(half_even(rest * part, whole)),
        )
    }
}

/// Decimal places of a currency's minor unit.
pub(crate) fn minor_places(currency: Currency) -> u32 {
    u32::from(currency.exponent().unwrap_or(0))
}

/// `over ÷ under` rounded half-even; `under` is above zero.
fn half_even(over: i128, under: i128) -> i128 {
    let floor = over.div_euclid(under);
    let rest = over.rem_euclid(under);
    // Compared without doubling, which might not fit.
    let up = match rest.cmp(&(under - rest)) {
        std::cmp::Ordering::Less => false,
        std::cmp::Ordering::Greater => true,
        std::cmp::Ordering::Equal => floor % 2 != 0,
    };
    if up { floor + 1 } else { floor }
}

impl Add for Value {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Value {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Value {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl AddAssign for Value {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Value {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Sum for Value {
    fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
        values.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(over: i128, under: i128, expected: i128) {
        assert_eq!(half_even(over, under), expected);
    }

    #[test]
    fn halves_go_to_the_even_neighbour() {
        check(5, 2, 2);
        check(7, 2, 4);
        check(-5, 2, -2);
        check(-7, 2, -4);
        check(8, 3, 3);
        check(-8, 3, -3);
        check(7, 3, 2);
        check(1, i128::MAX, 0);
        check(i128::MAX - 1, i128::MAX, 1);
    }

    #[test]
    fn a_share_of_the_largest_amount_does_not_overflow() {
        let most = Value::from_millionths(i128::MAX);
        assert_eq!(most.share(i64::MAX, i64::MAX), most);
        let half = most.share(i64::MAX / 2, i64::MAX - 1);
        assert!(half.millionths() > i128::MAX / 2 - 10 && half.millionths() < i128::MAX / 2 + 10);
        assert_eq!(Value::from_millionths(10).share(1, 4).millionths(), 2);
        assert_eq!(Value::from_millionths(10).share(3, 4).millionths(), 8);
        assert_eq!(Value::from_millionths(10).share(3, 0), Value::ZERO);
    }

    #[test]
    fn money_comes_back_as_it_went() {
        let paid = Money::from_minor(1234, Currency::USD);
        assert_eq!(Value::from_money(paid).to_money(Currency::USD), Some(paid));
        let cost: Cost = "0.0135 USD".parse().unwrap();
        let value = Value::at(cost, 3, 1).unwrap();
        assert_eq!(value.millionths(), 4_050_000);
        assert_eq!(
            value.to_cost(Currency::USD).unwrap().major().to_string(),
            "0.0405"
        );
        // A yen has no smaller coin, a dinar a thousand.
        let yen: Cost = "3 JPY".parse().unwrap();
        assert_eq!(Value::at(yen, 1, 1).unwrap().millionths(), 3_000_000);
        let dinar: Cost = "3 KWD".parse().unwrap();
        assert_eq!(Value::at(dinar, 1, 1).unwrap().millionths(), 3_000_000_000);
        assert_eq!(Value::at(yen, 1, 0), None);
        let fine: Cost = "0.0000000000000000000005 USD".parse().unwrap();
        assert_eq!(Value::at(fine, 1, 1), Some(Value::ZERO));
    }
}
