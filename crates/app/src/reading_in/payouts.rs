//! Payouts: written down by hand, and matched to the sales they pay for.

use measure::{Checker, Unclear};
use workshop::decide;
use workshop::facts::{ChannelId, PayoutId, SaleId};

use crate::forms::{Filled, money, past_day};
use crate::{ActError, App, Done};

/// Writes down that a channel paid out.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn note(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    let came_on = past_day(filled.some("came_on"), app.today());
    let day = came_on.as_ref().copied().unwrap_or_else(|_| app.today());
    app.act_on(day, who, |workshop, _| {
        let mut check = Checker::default();
        check.required("came_on", Some(filled.get("came_on")), |_| came_on.clone());
        let channel = check.required("channel", Some(filled.get("channel")), |text| {
            text.parse::<ChannelId>()
                .map_err(|_| Unclear::new(text, "no channel is chosen", "choose one"))
        });
        let read = money(workshop.currency(), workshop.reading());
        let amount = check.required("amount", Some(filled.get("amount")), read);
        let (Some(channel), Some(amount)) = (channel, amount) else {
            return Err(check.into_problems().into());
        };
        check.finish()?;
        decide::note_payout(workshop, channel, amount, filled.get("reference"))
    })
}

/// Settles which sales a payout pays for: every `sale` that is ticked.
///
/// # Errors
///
/// [`ActError`], with a problem for what cannot be right.
pub fn settle(app: &App, who: &str, payout: PayoutId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let mut sales: Vec<SaleId> = Vec::new();
        for (name, text) in filled.pairs() {
            if name == "sale" {
                sales.extend(check.required("sales", Some(text), |text| {
                    text.parse::<SaleId>()
                        .map_err(|_| Unclear::new(text, "it is no sale", "tick one of the list"))
                }));
            }
        }
        check.finish()?;
        decide::match_payout(workshop, payout, &sales, filled.get("note"))
    })
}
