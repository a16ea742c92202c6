//! The plain line through sales and prices, which a maker can check by hand.

use crate::counts::t_quantile;

/// Sales at one price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Average {
    /// The price, in major units.
    pub price: f64,
    /// Days at that price.
    pub days: u32,
    /// What a day sold on average.
    pub sold: f64,
}

/// Least squares through the averages at each price, each weighing as much as
/// it has days: sold = intercept + slope × price.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What the line says at a price of nothing.
    pub intercept: f64,
    /// Units more for each unit of price more; below zero where a higher price
    /// sells less.
    pub slope: f64,
    /// Standard error of the slope; none with two days.
    pub slope_error: Option<f64>,
    /// Standard deviation of days about the average at their own price; none
    /// when no price has two days.
    pub day_sd: Option<f64>,
    /// Days.
    pub days: u32,
    /// The averages, the lowest price first.
    pub averages: Vec<Average>,
}

/// Where a line earns most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Top {
    /// The price that earns most.
    pub price: f64,
    /// What a day then earns.
    pub contribution: f64,
    /// The price at which a unit earns nothing.
    nothing: f64,
}

impl Line {
    /// Fits the line to days, each a price and what was sold; none where there
    /// are fewer than two different prices.
    ///
    /// # Source
    ///
    /// Weighted least squares: Draper and Smith, Applied Regression Analysis,
    /// 3rd edition (1998), chapters 1 and 9.
    pub fn fit(days: &[(f64, f64)]) -> Option<Self> {
        let mut days = days.to_vec();
        days.retain(|(price, sold)| price.is_finite() && sold.is_finite());
        days.sort_by(|(p, a), (q, b)| p.total_cmp(q).then(a.total_cmp(b)));
        let mut averages: Vec<Average> = Vec::new();
        for (price, sold) in &days {
            match averages.last_mut() {
                Some(seen) if seen.price.total_cmp(price).is_eq() => {
                    seen.days += 1;
                    seen.sold += sold;
                }
                _ => averages.push(Average {
                    price: *price,
                    days: 1,
                    sold: *sold,
                }),
            }
        }
        for average in &mut averages {
            average.sold /= f64::from(average.days);
        }
        if averages.len() < 2 {
            return None;
        }
        let n = days.len() as f64;
        let weighed = |of: &dyn Fn(&Average) -> f64| -> f64 {
            averages.iter().map(|at| f64::from(at.days) * of(at)).sum()
        };
        let price = weighed(&|at| at.price) / n;
        let sold = weighed(&|at| at.sold) / n;
        let spread = weighed(&|at| (at.price - price) * (at.price - price));
        let together = weighed(&|at| (at.price - price) * (at.sold - sold));
        let slope = together / spread;
        let intercept = sold - slope * price;
        if !slope.is_finite() {
            return None;
        }
        let about = |of: &dyn Fn(f64) -> f64| -> f64 {
            days.iter()
                .map(|(price, sold)| (sold - of(*price)) * (sold - of(*price)))
                .sum()
        };
        let left = about(&|price| intercept + slope * price);
        let slope_error = (n > 2.5).then(|| (left / (n - 2.0) / spread).sqrt());
        let own = about(&|price| {
            let at = averages
                .iter()
                .find(|at| at.price.total_cmp(&price).is_eq());
            at.map_or(sold, |at| at.sold)
        });
        let free = n - averages.len() as f64;
        let day_sd = (free > 0.5).then(|| (own / free).sqrt());
        Some(Self {
            intercept,
            slope,
            slope_error,
            day_sd,
            days: u32::try_from(days.len()).unwrap_or(u32::MAX),
            averages,
        })
    }

    /// The line with both figures rounded as they would be on paper: to the
    /// largest of 1, 5, 10, 50 … tenths, hundredths and so on that is no more
    /// than a twentieth of the slope's standard error.
    ///
    /// Common practice, no source: a figure is not carried much further than
    /// its doubt.
    #[must_use]
    pub fn on_paper(&self) -> Self {
        let step = match self.slope_error {
            Some(error) if error > 0.0 => round_step(error / 20.0),
            _ => return self.clone(),
        };
        Self {
            intercept: to_step(self.intercept, step),
            slope: to_step(self.slope, step),
            ..self.clone()
        }
    }

    /// What the line expects at a price; never below nothing.
    pub fn sold_at(&self, price: f64) -> f64 {
        (self.intercept + self.slope * price).max(0.0)
    }

    /// The ends between which the slope lies nine times in ten.
    pub fn slope_range(&self) -> Option<(f64, f64)> {
        let reach = t_quantile(0.95, f64::from(self.days) - 2.0) * self.slope_error?;
        Some((self.slope - reach, self.slope + reach))
    }

    /// Where (`keep` × price − `unit_cost`) × sold is largest: half way between
    /// the price at which nothing is sold and the one at which nothing is
    /// earned. None where the line does not fall.
    ///
    /// `keep` is the share of the price that is kept, above zero.
    pub fn top(&self, keep: f64, unit_cost: f64) -> Option<Top> {
        if self.slope >= 0.0 || keep <= 0.0 {
            return None;
        }
        let none_sold = self.intercept / -self.slope;
        let nothing = unit_cost / keep;
        let price = 0.5 * (none_sold + nothing);
        (price > nothing && price.is_finite()).then(|| Top {
            price,
            contribution: (keep * price - unit_cost) * self.sold_at(price),
            nothing,
        })
    }
}

impl Top {
    /// The prices between which a day earns within `part` of the most.
    ///
    /// The contribution is a parabola about the top, so that it is
    /// √part of the way to where nothing is earned.
    pub fn within(&self, part: f64) -> (f64, f64) {
        let reach = part.max(0.0).sqrt() * (self.price - self.nothing);
        (self.price - reach, self.price + reach)
    }
}

/// The largest of … 0.5, 1, 5, 10 … that is no more than `most`.
pub(crate) fn round_step(most: f64) -> f64 {
    let (mut step, mut five) = (1e-9, true);
    while step < 1e15 {
        let next = if five { step * 5.0 } else { step * 2.0 };
        if next > most * (1.0 + 1e-9) {
            break;
        }
        step = next;
        five = !five;
    }
    step
}

/// The multiple of `step` nearest to `value`.
fn to_step(value: f64, step: f64) -> f64 {
    let nearest = (value / step).round() * step;
    // 0.1 is no binary figure: cut what the product carries beyond its step.
    if nearest.is_finite() {
        (nearest * 1e9).round() / 1e9
    } else {
        value
    }
}
