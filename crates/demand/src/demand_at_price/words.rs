//! Saying the answer: sentence, notes and working.

use std::collections::BTreeMap;

use measure::{Decimal, Working, figure};

use super::answer::{Asked, Priced};
use super::{
    Apart, AverageOutput, BetweenPrices, Estimate, LineOutput, ModelOutput, TestOutput, Verdict,
};
use crate::given::{chance, float, units};
use crate::line::Line;

impl Asked<'_> {
    pub(super) fn sentence(
        &self,
        verdict: Verdict,
        best: Option<&Priced>,
        within: Option<&BetweenPrices>,
        apart: &[Apart],
        test: Option<&TestOutput>,
    ) -> String {
        let now = self.say(self.read.now);
        let (Some(best), Some(at_now)) = (best, self.of(self.read.now)) else {
            let own = self
                .read
                .sales
                .iter()
                .filter(|sale| sale.product == self.read.product);
            let said = if own.clone().all(|sale| sale.sold == 0.0) {
                "Not enough to tell: none was sold on any of the days.".to_owned()
            } else if self.low == self.high {
                format!(
                    "Not enough to tell: every day was at {}.",
                    self.say(self.low)
                )
            } else {
                "Not enough to tell: the days are too few, or their prices too near each other."
                    .to_owned()
            };
            let test = test.map(|test| test.sentence.clone());
            return [Some(said), test]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(" ");
        };
        if best.expected <= 0.0 {
            return format!(
                "At no price that was tried does a unit earn its cost: at {} a day leaves {}.",
                self.say(best.price),
                self.money(best.expected)
            );
        }
        let best_price = self.say(best.price);
        let gain = self.money(best.expected - at_now.expected);
        let answer = match verdict {
            Verdict::Yes => format!(
                "Yes: {best_price} leaves about {} a day, {gain} more than {now}, and earns more \
                 with a chance of {}.",
                self.money(best.expected),
                chance(self.chance_beats(best, at_now)),
            ),
            Verdict::No => format!(
                "No: {now} leaves about {} a day, and no price compared earns a twentieth more, \
                 with a chance of {}.",
                self.money(at_now.expected),
                chance(self.chance_as_good(at_now)),
            ),
            Verdict::NotProven if best.price == at_now.price => format!(
                "Not proven, and a change now buys nothing: {now} leaves about {} a day and no price \
                 compared is expected to leave 2 % more, but it is within a twentieth of the best \
                 only with a chance of {}.",
                self.money(best.expected),
                chance(self.chance_as_good(best)),
            ),
            Verdict::NotProven => format!(
                "Not proven: {best_price} looks best, leaving about {} a day, {gain} more than \
                 {now}, but earns more only with a chance of {}.",
                self.money(best.expected),
                chance(self.chance_beats(best, at_now)),
            ),
        };
        let mut said = vec![answer];
        if let Some(within) = within.filter(|within| within.low != within.high) {
            said.push(format!(
                "From {} to {} a day is expected to leave within 2 % of the most.",
                within.low, within.high
            ));
        }
        let untold = apart.iter().filter(|pair| !pair.told);
        said.extend(
            untold.map(|pair| format!("The sales cannot tell {} from {}.", pair.low, pair.high)),
        );
        let test = test.filter(|_| verdict == Verdict::NotProven);
        said.extend(test.map(|test| test.sentence.clone()));
        said.join(" ")
    }

    pub(super) fn notes(&self, model: &ModelOutput, line: Option<&LineOutput>) -> Vec<String> {
        let mut notes = Vec::new();
        let read = self.read;
        if read.now_found {
            let why = if read.dated {
                "the last day's"
            } else {
                "that of most days"
            };
            notes.push(format!(
                "The price now is taken to be {why}, {}.",
                self.say(read.now)
            ));
        }
        for priced in self.priced.iter().filter(|priced| !priced.takes_part) {
            notes.push(format!(
                "{} is more than a quarter beyond the prices tried, {} to {}: what it would sell is \
                 a guess, and it takes no part in the comparison.",
                self.say(priced.price),
                self.say(self.low),
                self.say(self.high)
            ));
        }
        if self.low == self.high && self.enough {
            notes.push(
                "This product was sold at one price only: what is said of others rests on the \
                 other products."
                    .to_owned(),
            );
        }
        let own = || {
            read.sales
                .iter()
                .filter(|sale| sale.product == read.product)
        };
        let out = own().filter(|sale| sale.sold_out).count();
        if out > 0 {
            notes.push(format!(
                "It sold out on {out} of {} days: there the count says how many were wanted at \
                 least. The plain line leaves these days out.",
                own().count()
            ));
        }
        let mut of_day: BTreeMap<usize, u32> = BTreeMap::new();
        for sale in own() {
            *of_day.entry(sale.day).or_default() += 1;
        }
        if of_day.values().any(|n| *n > 1) && !read.with_exposure {
            notes.push(
                "On some days it sold at two prices: each is taken to have had the whole day. Say \
                 how long each held."
                    .to_owned(),
            );
        }
        if read.unit_cost == 0.0 {
            notes.push("No unit cost was given: units are taken to cost nothing.".to_owned());
        }
        if model.effective_draws < 100.0 {
            notes.push(
                "The belief is hard to draw from here: take the chances as good to a tenth only."
                    .to_owned(),
            );
        }
        if let Some(line) = line
            && line.slope >= 0.0
        {
            notes.push(
                "On these days a higher price sold no less, so that the plain line has no best \
                 price."
                    .to_owned(),
            );
        }
        notes.push(
            "A price test compares days that are alike: the same season, weather and kind of \
             market."
                .to_owned(),
        );
        notes
    }

    pub(super) fn show_line(&self, line: &Line, working: &mut Working) -> LineOutput {
        let paper = line.on_paper();
        let (keep, cost) = (self.read.keep, self.read.unit_cost);
        let top = paper.top(keep, cost);
        let code = self.read.currency.code();
        let inward = |(low, high): (f64, f64)| {
            let coins = u32::from(self.read.currency.exponent().unwrap_or(0)).min(9);
            let unit = float(Decimal::new(1, coins));
            // A millionth of a coin is rounding, not money.
            BetweenPrices {
                low: self.money((low / unit - 1e-6).ceil() * unit),
                high: self.money((high / unit + 1e-6).floor() * unit),
                may_go_on: false,
            }
        };
        let sign = if paper.slope < 0.0 { "−" } else { "+" };
        let formula = format!(
            "sold = {} {sign} {} × price",
            plain(paper.intercept),
            plain(paper.slope.abs())
        );
        let averages: Vec<String> = line
            .averages
            .iter()
            .map(|at| {
                format!(
                    "{} at {} ({})",
                    units(at.sold),
                    self.money(at.price),
                    at.days
                )
            })
            .collect();
        working.step(
            "Averages at each price, days in brackets",
            "sold ÷ days",
            averages.join("; "),
            line.day_sd
                .map_or_else(String::new, |sd| format!("days about {} apart", units(sd))),
            "",
        );
        working.step(
            "Plain line",
            "least squares through the averages, each weighing as its days: slope = Σ days × \
             (price − mean price) × (sold − mean sold) ÷ Σ days × (price − mean price)²",
            match line.slope_range() {
                Some((low, high)) => format!(
                    "{} days; the slope lies nine times in ten between {} and {}",
                    line.days,
                    figure(low, 1),
                    figure(high, 1)
                ),
                None => format!("{} days", line.days),
            },
            formula.clone(),
            "Draper and Smith, Applied Regression Analysis, 3rd edition (1998), chapters 1 and 9",
        );
        if let Some(top) = &top {
            working.step(
                "Best price on the line",
                "(price at which none sells + unit cost ÷ share kept) ÷ 2",
                format!(
                    "({} ÷ {} + {} ÷ {}) ÷ 2",
                    plain(paper.intercept),
                    plain(paper.slope.abs()),
                    plain(cost),
                    plain(keep)
                ),
                self.money(top.price),
                "the top of a parabola",
            );
            working.step(
                "What a day leaves there",
                "(share kept × price − unit cost) × sold",
                format!(
                    "({} × {} − {}) × ({} {sign} {} × {})",
                    plain(keep),
                    figure(top.price, 3),
                    plain(cost),
                    plain(paper.intercept),
                    plain(paper.slope.abs()),
                    figure(top.price, 3)
                ),
                self.money(top.contribution),
                "",
            );
            let (two, five) = (inward(top.within(0.02)), inward(top.within(0.05)));
            working.step(
                "Prices that leave within 2 % and 5 % of that",
                "best ± √part × (best − unit cost ÷ share kept)",
                format!(
                    "{} ± √0.02 × {}; ± √0.05 × {}",
                    figure(top.price, 3),
                    figure(top.price - cost / keep, 3),
                    figure(top.price - cost / keep, 3)
                ),
                format!("{} to {}; {} to {}", two.low, two.high, five.low, five.high),
                "the same parabola",
            );
        }
        let slope_range = line.slope_range();
        LineOutput {
            formula: format!("{formula} in {code}"),
            intercept: paper.intercept,
            slope: paper.slope,
            slope_low: slope_range.map(|(low, _)| low),
            slope_high: slope_range.map(|(_, high)| high),
            day_sd: line.day_sd,
            averages: line
                .averages
                .iter()
                .map(|at| AverageOutput {
                    price: self.money(at.price),
                    days: at.days,
                    sold: at.sold,
                })
                .collect(),
            best: top.map(|top| self.money(top.price)),
            contribution: top.map(|top| self.money(top.contribution)),
            contribution_in_currency: top.map(|top| top.contribution),
            within_2_percent: top.map(|top| inward(top.within(0.02))),
            within_5_percent: top.map(|top| inward(top.within(0.05))),
        }
    }

    pub(super) fn explain(
        &self,
        model: &ModelOutput,
        best: Option<&Priced>,
        tests: &[TestOutput],
        working: &mut Working,
    ) {
        let range = |of: &Estimate, places| {
            format!(
                "{}, nine times in ten {} to {}",
                figure(of.middle, places),
                figure(of.low, places),
                figure(of.high, places)
            )
        };
        working.step(
            "How sales answer to price",
            "ln average = level + elasticity × ln(price ÷ usual price) + day + ln(exposure); counts \
             negative binomial; levels and elasticities of products lean on each other",
            format!(
                "days: {}, products: {}; before any sale the elasticity is −1.5 give or take 1.6",
                model.days, model.products
            ),
            format!("elasticity {}", range(&model.elasticity, 2)),
            "model: Hilbe, Negative Binomial Regression, 2nd edition (2011); beliefs before any \
             sale: common practice, no source",
        );
        working.step(
            "How days differ",
            "variance of a day = m + m² ((1 + φ) exp(day spread²) − 1)",
            format!(
                "day spread {}; φ {}",
                range(&model.day_spread, 2),
                range(&model.dispersion, 3)
            ),
            format!(
                "{} up or down at {}",
                units(model.day_sd),
                self.say(self.read.now)
            ),
            "",
        );
        if let Some(alone) = model.alone {
            working.step(
                "The product's own days alone",
                "negative binomial regression by maximum likelihood, no beliefs",
                format!("φ {}", figure(alone.dispersion, 3)),
                format!(
                    "elasticity {} ± {}",
                    figure(alone.elasticity, 2),
                    figure(alone.standard_error, 2)
                ),
                "Hilbe, Negative Binomial Regression, 2nd edition (2011), 8.2",
            );
        }
        if let Some(best) = best {
            working.step(
                "What a day leaves at the best price compared",
                "(share kept × price − unit cost) × expected sales",
                format!(
                    "({} × {} − {}) × {}",
                    plain(self.read.keep),
                    self.say(best.price),
                    plain(self.read.unit_cost),
                    if best.kept == 0.0 {
                        "any".to_owned()
                    } else {
                        units(best.expected / best.kept)
                    }
                ),
                self.money(best.expected),
                "",
            );
            working.step(
                "Chance that it is the best",
                "share of the draws in which no price compared leaves more",
                format!(
                    "worth {} draws, seed {}",
                    figure(model.effective_draws, 0),
                    model.seed
                ),
                chance(best.chance_best),
                "importance sampling: Geweke, Econometrica 57 (1989)",
            );
        }
        for test in tests {
            working.step(
                "A test that would tell",
                "chance that the elasticity then lies on one side of the price's threshold nine \
                 times in ten",
                format!(
                    "{} at {}, {} at {}",
                    test.days, test.price, test.days, test.against
                ),
                chance(test.chance_told),
                "preposterior analysis: Raiffa and Schlaifer, Applied Statistical Decision Theory \
                 (1961)",
            );
        }
    }
}

/// A figure with no more digits than it has.
fn plain(value: f64) -> String {
    match measure::decimal_from_f64(value, 6) {
        Some(value) => value.normalize().to_string(),
        None => figure(value, 0),
    }
}
