//! Which sales a payout pays for.

use jiff::civil::Date;
use measure::Money;

use crate::facts::{Payment, SaleId};
use crate::selling::fees_of;
use crate::state::Workshop;
use crate::trade::{Payout, Sale};

/// The most sales of which every choice is tried.
const MOST_TRIED: usize = 28;

/// The sales that a payout is taken to pay for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PayoutGuess {
    /// Every sale it could pay for, oldest first.
    pub could: Vec<SaleId>,
    /// Those it is taken to pay for.
    pub sales: Vec<SaleId>,
    /// What the buyers paid for these, less what came back.
    pub paid: Money,
    /// What the channel kept of it.
    pub fees: Money,
    /// What is left.
    pub net: Money,
    /// The payout less that.
    pub difference: Money,
    /// Whether other sales would come to the same.
    pub is_one_of_many: bool,
}

/// What a payout should bring for a sale: what was paid less what was given
/// back and what the channel keeps.
pub fn net_of(workshop: &Workshop, sale: &Sale) -> Money {
    let back = given_back(sale);
    let minor = sale.paid().minor() - back - fees_of(workshop, sale).minor();
    Money::from_minor(minor, sale.tax.currency())
}

/// What a channel kept beyond its terms when it paid out, below zero where it
/// paid more; none before it is said which sales the payout is for.
pub fn kept_beyond_terms(workshop: &Workshop, payout: &Payout) -> Option<Money> {
    let (sales, _) = payout.matched.as_ref()?;
    let sales = sales.iter().filter_map(|sale| workshop.trade().sale(*sale));
    let net: i64 = sales.map(|sale| net_of(workshop, sale).minor()).sum();
    let kept = net.saturating_sub(payout.amount.minor());
    Some(Money::from_minor(kept, payout.amount.currency()))
}

fn given_back(sale: &Sale) -> i64 {
    sale.returns.iter().map(|back| back.refund.minor()).sum()
}

/// Looks for the sales that a payout pays for: those of its channel up to its
/// day that were paid through the channel and that no payout pays for yet.
///
/// Channels pay out what came in up to some day, so it tries the sales up to
/// each day first; then, where there are few, every choice of them; and where
/// nothing fits, takes all and leaves the difference.
pub fn guess_payout(workshop: &Workshop, payout: &Payout) -> PayoutGuess {
    let trade = workshop.trade();
    let through = |sale: &&Sale| {
        sale.channel == payout.channel
            && matches!(sale.payment, Payment::Payout | Payment::Card)
            && sale.voided.is_none()
            && sale.day <= payout.day
            && sale.tax.currency() == payout.amount.currency()
            && sale.payout.is_none_or(|other| other == payout.id)
    };
    let mut could: Vec<&Sale> = trade.sales().iter().filter(through).collect();
    could.sort_by_key(|sale| (sale.day, sale.id));
    let nets: Vec<i64> = could
        .iter()
        .map(|sale| net_of(workshop, sale).minor())
        .collect();
    let days: Vec<Date> = could.iter().map(|sale| sale.day).collect();
    let kept = payout.matched.as_ref().map(|(sales, _)| sales);
    let (chosen, is_one_of_many): (Vec<usize>, bool) = match kept {
        Some(kept) => {
            let chosen = (0..could.len()).filter(|nth| kept.contains(&could[*nth].id));
            (chosen.collect(), false)
        }
        None => fitting(&days, &nets, payout.amount.minor()),
    };
    let money = |minor: i64| Money::from_minor(minor, payout.amount.currency());
    let of_chosen =
        |of: &dyn Fn(&Sale) -> i64| money(chosen.iter().map(|nth| of(could[*nth])).sum());
    let paid = of_chosen(&|sale| sale.paid().minor() - given_back(sale));
    let fees = of_chosen(&|sale| fees_of(workshop, sale).minor());
    let net = money(paid.minor() - fees.minor());
    PayoutGuess {
        sales: chosen.iter().map(|nth| could[*nth].id).collect(),
        could: could.iter().map(|sale| sale.id).collect(),
        paid,
        fees,
        net,
        difference: money(payout.amount.minor() - net.minor()),
        is_one_of_many,
    }
}

/// Which of the amounts come to `wanted`, and whether others do as well.
fn fitting(days: &[Date], nets: &[i64], wanted: i64) -> (Vec<usize>, bool) {
    let mut sum = 0_i64;
    for (nth, net) in nets.iter().enumerate() {
        sum = sum.saturating_add(*net);
        let ends_its_day = days.get(nth + 1) != days.get(nth);
        if ends_its_day && sum == wanted {
            return ((0..=nth).collect(), false);
        }
    }
    if nets.len() <= MOST_TRIED
        && let Some(found) = subset(nets, wanted)
    {
        return found;
    }
    ((0..nets.len()).collect(), false)
}

/// The choice of amounts that comes to `wanted`, the oldest first where there
/// are several: both halves are tried and put together.
fn subset(nets: &[i64], wanted: i64) -> Option<(Vec<usize>, bool)> {
    let half = nets.len() / 2;
    let sums = |part: &[i64]| -> Vec<(i64, u32)> {
        let mut sums = vec![(0_i64, 0_u32)];
        for (nth, net) in part.iter().enumerate() {
            let with: Vec<_> = sums
                .iter()
                .map(|(sum, mask)| (sum.saturating_add(*net), mask | 1 << nth))
                .collect();
            sums.extend(with);
        }
        sums
    };
    let first = sums(&nets[..half]);
    let mut second = sums(&nets[half..]);
    second.sort_unstable();
    let mut best: Option<u64> = None;
    let mut n_found = 0_u64;
    for (sum, mask) in first {
        let rest = wanted.saturating_sub(sum);
        let from = second.partition_point(|(other, _)| *other < rest);
        for (_, other) in second[from..]
            .iter()
            .take_while(|(other, _)| *other == rest)
        {
            let whole = u64::from(mask) | u64::from(*other) << half;
            if whole == 0 {
                continue;
            }
            n_found += 1;
            // The lowest bits are the oldest sales: read as a number from the
            // other end, the largest has them.
            if best.is_none_or(|best| whole.reverse_bits() > best.reverse_bits()) {
                best = Some(whole);
            }
        }
    }
    let best = best?;
    let chosen = (0..nets.len()).filter(|nth| best >> nth & 1 == 1).collect();
    Some((chosen, n_found > 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_payout_is_the_sales_up_to_a_day_or_a_choice_of_them() {
        let days = [date(2026, 6, 1), date(2026, 6, 1), date(2026, 6, 2)];
        assert_eq!(fitting(&days, &[672, 480, 1150], 1152), (vec![0, 1], false));
        assert_eq!(fitting(&days, &[672, 480, 1150], 1822), (vec![0, 2], false));
        // Nothing fits: all of them, and a difference.
        assert_eq!(
            fitting(&days, &[672, 480, 1150], 99),
            (vec![0, 1, 2], false)
        );
        assert_eq!(fitting(&days, &[500, 500, 700], 500), (vec![0], true));
        assert_eq!(fitting(&[], &[], 500), (vec![], false));
    }

    #[test]
    fn every_choice_is_found_that_trying_each_finds() {
        let nets = [103, 250, 377, 41, 99, 812, 5, 640];
        for wanted in (0..2_400).step_by(7) {
            let by_hand = (1_u32..1 << nets.len()).any(|mask| {
                let sum: i64 = (0..nets.len())
                    .filter(|nth| mask >> nth & 1 == 1)
                    .map(|nth| nets[nth])
                    .sum();
                sum == wanted
            });
            let found = subset(&nets, wanted);
            assert_eq!(found.is_some(), by_hand, "{wanted}");
            if let Some((chosen, _)) = found {
                let sum: i64 = chosen.iter().map(|nth| nets[*nth]).sum();
                assert_eq!(sum, wanted);
            }
        }
    }
}
