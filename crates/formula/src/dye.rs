//! Colour: weighed as a share of the wax, or counted in drops.

use measure::{Decimal, Mass, Ratio, Reading, Typed, Unclear, parse_decimal};

const ACCEPTED: &str = "write an amount such as 0.2 % of wax, 4 drops or 2 drops per lb";

/// A dye and how much of it goes in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dye {
    /// What the maker calls it.
    pub name: String,
    /// How much.
    pub amount: DyeAmount,
    /// What one drop weighs, when the maker has weighed some. Without it,
    /// drops are counted and not weighed: they are left out of the total.
    pub drop_weight: Option<Mass>,
}

/// How much dye.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DyeAmount {
    /// A share of the wax.
    OfWax(Ratio),
    /// So many drops in the whole pour, whatever its size.
    Drops(Decimal),
    /// So many drops for each such weight of wax.
    DropsPer(Decimal, Mass),
}

impl DyeAmount {
    /// Reads an amount of dye: `0.2 % of wax`, `4 drops`, `2 drops per lb`.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when it is none of these, negative, or more dye than wax.
    pub fn parse(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        let refuse = |wrong: &'static str| Unclear::new(trimmed, wrong, ACCEPTED);
        let again = |unclear: Unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED);
        if trimmed.is_empty() {
            return Err(refuse("the amount of dye is missing"));
        }
        let lower = trimmed.to_lowercase();
        if let Some((count, rest)) = lower.split_once("drop") {
            let count = parse_decimal(count, reading).map_err(again)?;
            if count.is_sign_negative() && !count.is_zero() {
                return Err(refuse("the number of drops cannot be negative"));
            }
            if count > Decimal::from(MOST_DROPS) {
                return Err(refuse("that is more drops than anyone counts"));
            }
            let rest = rest.strip_prefix('s').unwrap_or(rest).trim();
            if rest.is_empty() {
                return Ok(Self::Drops(count));
            }
            let per = rest
                .strip_prefix("per ")
                .ok_or_else(|| refuse("after the drops comes nothing, or per and a weight"))?
                .trim();
            let per = if per.starts_with(|c: char| c.is_ascii_digit()) {
                Typed::<Mass>::parse_with(per, reading)
            } else {
                Typed::<Mass>::parse_with(&format!("1 {per}"), reading)
            }
            .map_err(again)?
            .value();
            if per.is_zero() {
                return Err(refuse("the wax weighs nothing"));
            }
            return Ok(Self::DropsPer(count, per));
        }
        let share = match lower.split_once(" of ") {
            None => lower.as_str(),
            Some((share, base)) if base.trim().trim_start_matches("the ") == "wax" => share,
            Some(_) => return Err(refuse("dye is given as a share of the wax")),
        };
        let share = Ratio::parse(share, reading).map_err(again)?;
        if share > Ratio::ONE {
            return Err(refuse("that is more dye than wax"));
        }
        Ok(Self::OfWax(share))
    }
}

/// Ten million drops are about half a tonne.
const MOST_DROPS: i64 = 10_000_000;

impl Dye {
    /// The part that grows with the wax, as a share of it; drops only when
    /// a drop's weight is known.
    pub(crate) fn share_of_wax(&self) -> Option<Decimal> {
        match self.amount {
            DyeAmount::OfWax(share) => Some(share.decimal()),
            DyeAmount::Drops(_) => None,
            DyeAmount::DropsPer(count, per) => count
                .checked_mul(Decimal::from(self.drop_weight?.micrograms()))?
                .checked_div(Decimal::from(per.micrograms())),
        }
    }

    /// The part that does not depend on the wax.
    pub(crate) fn fixed(&self) -> Option<Mass> {
        match self.amount {
            DyeAmount::Drops(count) => self.drop_weight?.share(count, Decimal::ONE),
            DyeAmount::OfWax(_) | DyeAmount::DropsPer(..) => None,
        }
    }

    /// How many drops go into this much wax, to the nearest
    /// whole drop; none for dye that is weighed.
    pub(crate) fn drops(&self, wax: Mass) -> Option<Decimal> {
        match self.amount {
            DyeAmount::OfWax(_) => None,
            DyeAmount::Drops(count) => Some(count),
            DyeAmount::DropsPer(count, per) => Decimal::from(wax.micrograms())
                .checked_div(Decimal::from(per.micrograms()))?
                .checked_mul(count)
                .map(|drops| drops.round()),
        }
    }
}
