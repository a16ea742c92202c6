//! Tidy prices: the next one upward with the ending a maker likes.

use measure::{Cost, Currency, Decimal, Reading, Unclear, parse_decimal};

use crate::arithmetic::{TooLarge, add, mul};

const ACCEPTED: &str =
    "write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none";

/// More than any ending is.
const MOST: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

/// How a tidy price ends. A price is only ever moved upward to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// A multiple of this: of five cents, of whole dollars.
    Multiple(Decimal),
    /// The next price that leaves `tail` above a multiple of `every`: 0.99
    /// above whole dollars, 4.99 above tens.
    Tail {
        /// What stands above the multiple; less than `every`.
        tail: Decimal,
        /// Of what it is a multiple.
        every: Decimal,
    },
}

impl Ending {
    /// Any amount that can be paid: a multiple of the smallest coin.
    pub fn coin(currency: Currency) -> Self {
        Self::Multiple(Decimal::new(1, u32::from(currency.exponent().unwrap_or(0))))
    }

    /// Reads an ending. A whole number, or one that goes into 1 without
    /// remainder, is taken by its multiples; any other is what prices end in.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when it is no positive number, or finer than the coins of
    /// `currency`.
    pub fn parse(text: &str, currency: Currency) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() || trimmed.eq_ignore_ascii_case("none") {
            return Ok(Self::coin(currency));
        }
        let unclear = |wrong: String| Unclear::new(trimmed, wrong, ACCEPTED);
        let figure = parse_decimal(trimmed, Reading::PLAIN)
            .map_err(|unread| unclear(unread.wrong.into_owned()))?
            .normalize();
        if figure <= Decimal::ZERO {
            return Err(unclear("an ending is more than nothing".to_owned()));
        }
        if figure > MOST {
            return Err(unclear("the ending is too large".to_owned()));
        }
        let coins = u32::from(currency.exponent().unwrap_or(0));
        if figure.scale() > coins {
            return Err(unclear(format!(
                "{} has {coins} decimal places",
                currency.code()
            )));
        }
        let goes_into_one = (Decimal::ONE / figure).is_integer();
        if figure.is_integer() || goes_into_one {
            return Ok(Self::Multiple(figure));
        }
        let mut every = Decimal::ONE;
        while every < figure {
            every *= Decimal::TEN;
        }
        Ok(Self::Tail {
            tail: figure,
            every,
        })
    }

    /// The least price of this ending that is not below `price`. What differs
    /// from such a price only past the fifteenth decimal is taken for it.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn up(self, price: Cost) -> Result<Cost, TooLarge> {
        let exact = price.major().max(Decimal::ZERO).round_dp(15);
        let (every, tail) = match self {
            Self::Multiple(every) => (every, Decimal::ZERO),
            Self::Tail { tail, every } => (every, tail),
        };
        let below = exact.checked_div(every).ok_or(TooLarge)?.floor();
        let mut tidy = add(mul(below, every)?, tail)?;
        if tidy < exact {
            tidy = add(tidy, every)?;
        }
        Ok(Cost::new(tidy.normalize(), price.currency()))
    }

    /// What it does, for the working.
    pub fn words(self, currency: Currency) -> String {
        match self {
            Self::Multiple(every) => {
                format!("up to a multiple of {}", Cost::new(every, currency))
            }
            Self::Tail { tail, every } if every == Decimal::ONE => {
                format!("up to the next price that ends in {tail}")
            }
            Self::Tail { tail, every } => {
                format!("up to the next price that is {tail} above a multiple of {every}")
            }
        }
    }
}
