//! Papers about money and goods on return: invoice, credit note, consignment
//! note.

use measure::{Money, Problem};
use press::paper::document::{Bill, BillLine, Blank, Draw};
use workshop::facts::{Payment, ProductId, SaleLine, Units};
use workshop::{COUNTED_EVERY, Invoice, Order, Sale, accounts, day_after};

use super::{Asked, NoPaper, and, long_day};

pub(super) fn invoice(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let invoice = known(asked)?;
    if let Some((of, _)) = &invoice.credits {
        return Err(Problem::new(
            "invoice",
            invoice.id.to_string(),
            format!("it is a credit note for invoice {of}"),
            "print it as a credit note",
        )
        .into());
    }
    let trade = asked.workshop.trade();
    let sales: Vec<&Sale> = invoice
        .sales
        .iter()
        .filter_map(|id| trade.sale(*id))
        .collect();
    let mut lines = Vec::new();
    let mut gross = 0_i64;
    let mut net_lines = true;
    for sale in &sales {
        let (of_sale, is_net) = lines_of(asked, sale);
        net_lines &= is_net;
        gross = gross.saturating_add(sale.paid().minor());
        lines.push((*sale, of_sale));
    }
    let lines = lines.into_iter().flat_map(|(sale, of_sale)| {
        if net_lines == is_net(asked, sale) {
            of_sale
        } else {
            // One way for the whole paper: with the tax in every line.
            gross_lines(asked, sale)
        }
    });
    let lines: Vec<BillLine> = lines.collect();
    let currency = invoice.total.currency();
    let money = |minor: i64| asked.price(Money::from_minor(minor, currency));
    let mut sums = Vec::new();
    let back = gross.saturating_sub(invoice.total.minor());
    if back > 0 {
        sums.push(Blank::new("Given back before", money(-back)));
    }
    let to_pay = match (invoice.tax.minor(), net_lines) {
        (0, _) => "To pay".to_owned(),
        (_, true) => {
            let words = format!("And {}", tax_word(asked));
            sums.push(Blank::new(words, asked.price(invoice.tax)));
            "To pay".to_owned()
        }
        // It is in the lines already: a line of its own would add it again.
        (_, false) => {
            let tax = asked.price(invoice.tax);
            format!("To pay, {tax} {} in it", tax_word(asked))
        }
    };
    sums.push(Blank::new(to_pay, asked.price(invoice.total)));
    let account = accounts(trade).get(&invoice.id).copied();
    if let Some(account) = account.filter(|account| account.owed != invoice.total) {
        let amounts = invoice.paid.iter().map(|(_, amount, _)| amount.minor());
        let (came, back): (Vec<i64>, Vec<i64>) = amounts.partition(|minor| *minor > 0);
        let came: i64 = came.iter().sum();
        let back: i64 = back.iter().sum();
        for (name, sum) in [
            ("Paid", came),
            ("Credited", account.credited.minor()),
            ("Given back", back),
        ] {
            if sum != 0 {
                sums.push(Blank::new(name, money(-sum)));
            }
        }
        sums.push(Blank::new("Left to pay", asked.price(account.owed)));
    }
    let due = match invoice.due {
        Some(day) => Blank::new("To be paid by", long_day(day)),
        None => Blank::new("To be paid", "at once"),
    };
    let orders: Vec<String> = sales
        .iter()
        .filter_map(|sale| Some(sale.order?.to_string()))
        .collect();
    let mut facts = vec![
        Blank::new("Invoice", invoice.id.to_string()),
        due,
        Blank::new("Order", and(&orders)),
    ];
    facts.extend(tax_numbers(asked, invoice)?);
    bill(
        asked,
        invoice,
        format!("Invoice {}", invoice.id),
        facts,
        lines,
        sums,
    )
}

pub(super) fn credit_note(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let note = known(asked)?;
    let Some((of, reason)) = &note.credits else {
        return Err(Problem::new(
            "invoice",
            note.id.to_string(),
            "it is an invoice",
            "print it as an invoice, or name the credit note's own number",
        )
        .into());
    };
    let line = BillLine {
        what: format!("Off invoice {of}: {reason}"),
        amount: asked.price(note.total),
        ..BillLine::default()
    };
    let credited = if note.tax.minor() == 0 {
        "Credited".to_owned()
    } else {
        let tax = asked.price(note.tax);
        format!("Credited, {tax} {} in it", tax_word(asked))
    };
    let mut sums = vec![Blank::new(credited, asked.price(note.total))];
    if let Some((back, how)) = note.given_back {
        let words = match how {
            Payment::Owed | Payment::Unknown => "Given back of it".to_owned(),
            how => format!("Given back of it, {}", how.word()),
        };
        sums.insert(0, Blank::new(words, asked.price(back)));
    }
    let mut facts = vec![
        Blank::new("Credit note", note.id.to_string()),
        Blank::new("For invoice", of.to_string()),
    ];
    facts.extend(tax_numbers(asked, note)?);
    let title = format!("Credit note {}", note.id);
    bill(asked, note, title, facts, vec![line], sums)
}

/// What the tax on sales is called in the workshop.
fn tax_word<'a>(asked: &Asked<'a>) -> &'a str {
    let books = asked.workshop.trade().books();
    let tax = books.and_then(|books| books.tax.as_ref());
    tax.map_or("tax", |tax| tax.name.as_str())
}

fn bill(
    asked: &Asked,
    invoice: &Invoice,
    title: String,
    facts: Vec<Blank>,
    lines: Vec<BillLine>,
    sums: Vec<Blank>,
) -> Result<Box<dyn Draw>, NoPaper> {
    Ok(Box::new(Bill {
        title,
        maker: asked.maker(),
        day: long_day(invoice.day),
        to: asked.to(invoice.buyer)?,
        facts,
        lines,
        sums,
        notes: asked.lines("note").into_iter().map(str::to_owned).collect(),
        signed: Vec::new(),
    }))
}

/// The numbers under which both pay their taxes, as far as they are known.
fn tax_numbers(asked: &Asked, invoice: &Invoice) -> Result<Vec<Blank>, NoPaper> {
    let books = asked.workshop.trade().books();
    let own = books.and_then(|books| books.tax.as_ref());
    let own = own.map_or("", |tax| tax.number.as_str());
    let buyer = asked.app.person(invoice.buyer)?;
    let theirs = buyer.map_or_else(String::new, |person| person.tax_number);
    let numbers = [
        ("Our tax number", own.to_owned()),
        ("Your tax number", theirs),
    ];
    Ok(numbers
        .into_iter()
        .filter(|(_, number)| !number.is_empty())
        .map(|(name, number)| Blank::new(name, number))
        .collect())
}

fn known<'a>(asked: &Asked<'a>) -> Result<&'a Invoice, Problem> {
    let trade = asked.workshop.trade();
    let text = asked.filled.get("invoice");
    let found = text.parse().ok().and_then(|id| trade.invoice(id));
    found.ok_or_else(|| {
        let wrong = super::missing_or_unknown(text, "invoice");
        let accepted = match trade.invoices().last() {
            Some(last) => format!("write a number from 1 to {}", last.id),
            None => "write an invoice first".to_owned(),
        };
        Problem::new("invoice", text, wrong, accepted)
    })
}

/// The lines of a sale, and whether the tax comes on top of them.
fn lines_of(asked: &Asked, sale: &Sale) -> (Vec<BillLine>, bool) {
    if is_net(asked, sale) {
        let order = sale.order.and_then(|id| asked.workshop.trade().order(id));
        let each = |product| order.and_then(|order| order.each(product));
        let lines = sale.lines.iter().filter_map(|line| {
            let product = line.units.first()?.product;
            let each = each(product)?;
            let amount = times(each, count_of(&line.units));
            Some(line_of(asked, line, Some(each), amount))
        });
        let postage = net_postage(asked, sale).filter(|money| money.minor() != 0);
        let lines = lines.chain(postage.map(|money| postage_line(asked, money)));
        (lines.collect(), true)
    } else {
        (gross_lines(asked, sale), false)
    }
}

fn gross_lines(asked: &Asked, sale: &Sale) -> Vec<BillLine> {
    let lines = sale.lines.iter().map(|line| {
        let count = i64::from(count_of(&line.units));
        let is_even = count > 0 && line.paid.minor() % count == 0;
        let each =
            is_even.then(|| Money::from_minor(line.paid.minor() / count, line.paid.currency()));
        line_of(asked, line, each, line.paid)
    });
    let postage = sale.postage.filter(|money| money.minor() != 0);
    lines
        .chain(postage.map(|money| postage_line(asked, money)))
        .collect()
}

/// Whether the agreed prices of the order, without the tax, make up the sale.
fn is_net(asked: &Asked, sale: &Sale) -> bool {
    sale.tax.minor() != 0 && net_postage(asked, sale).is_some()
}

/// What the buyer is charged for postage without the tax: what the goods at
/// their agreed prices leave of the sale; none where that does not add up.
fn net_postage(asked: &Asked, sale: &Sale) -> Option<Money> {
    let order = asked.workshop.trade().order(sale.order?)?;
    let mut goods = 0_i64;
    for line in &sale.lines {
        let each = order.each(line.units.first()?.product)?;
        goods = goods.saturating_add(times(each, count_of(&line.units)).minor());
    }
    let net = sale.paid().minor().saturating_sub(sale.tax.minor());
    let left = net.saturating_sub(goods);
    let with_tax = sale.postage.map_or(0, Money::minor);
    let fits = if with_tax == 0 {
        left == 0
    } else {
        (0..with_tax).contains(&left)
    };
    fits.then(|| Money::from_minor(left, sale.tax.currency()))
}

fn postage_line(asked: &Asked, money: Money) -> BillLine {
    BillLine {
        what: "Postage".to_owned(),
        amount: asked.price(money),
        ..BillLine::default()
    }
}

fn line_of(asked: &Asked, line: &SaleLine, each: Option<Money>, amount: Money) -> BillLine {
    let product = line.units.first().map(|units| units.product);
    BillLine {
        what: product.map_or_else(String::new, |product| good_name(asked, product)),
        lots: lots_of(asked, &line.units),
        quantity: count_of(&line.units).to_string(),
        each: each.map_or_else(String::new, |each| asked.price(each)),
        amount: asked.price(amount),
    }
}

fn good_name(asked: &Asked, product: ProductId) -> String {
    let good = asked.workshop.product(product);
    good.map_or_else(String::new, |good| good.name.clone())
}

fn lots_of(asked: &Asked, units: &[Units]) -> String {
    let codes: Vec<&str> = units
        .iter()
        .filter_map(|units| Some(asked.workshop.pour(units.lot?)?.lot.as_str()))
        .collect();
    codes.join(", ")
}

fn count_of(units: &[Units]) -> u32 {
    units
        .iter()
        .fold(0, |sum, units| sum.saturating_add(units.count))
}

fn times(each: Money, count: u32) -> Money {
    let minor = each.minor().saturating_mul(i64::from(count));
    Money::from_minor(minor, each.currency())
}

pub(super) fn consignment_note(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let trade = asked.workshop.trade();
    let text = asked.filled.get("order");
    let found = text.parse().ok().and_then(|id| trade.order(id));
    let order: &Order = found.ok_or_else(|| {
        Problem::new(
            "order",
            text,
            super::missing_or_unknown(text, "order"),
            "write the number of an order",
        )
    })?;
    if !order.on_return {
        return Err(Problem::new(
            "order",
            order.id.to_string(),
            "it is sold outright",
            "print a packing slip or an invoice",
        )
        .into());
    }
    let mut lines = Vec::new();
    let mut worth = 0_i64;
    for line in &order.lines {
        let picked: Vec<Units> = order
            .picked
            .iter()
            .filter(|units| units.product == line.product)
            .copied()
            .collect();
        let count = if order.picked.is_empty() {
            line.count
        } else {
            count_of(&picked)
        };
        let amount = times(line.each, count);
        worth = worth.saturating_add(amount.minor());
        lines.push(BillLine {
            what: good_name(asked, line.product),
            lots: lots_of(asked, &picked),
            quantity: count.to_string(),
            each: asked.price(line.each),
            amount: asked.price(amount),
        });
    }
    let next_count = match (asked.filled.some("next-count"), order.sent) {
        (Some(text), _) => text.to_owned(),
        (None, Some(sent)) => long_day(day_after(sent, COUNTED_EVERY)),
        (None, None) => String::new(),
    };
    let currency = order.lines.first().map(|line| line.each.currency());
    let sums = currency.map(|currency| {
        let worth = asked.price(Money::from_minor(worth, currency));
        Blank::new("If everything sells", worth)
    });
    let mut notes = vec![
        "These goods stay the maker's until they are sold. The shop pays the amount named for \
         each one it sells, and gives back what it does not."
            .to_owned(),
    ];
    notes.extend(asked.lines("note").into_iter().map(str::to_owned));
    Ok(Box::new(Bill {
        title: "Consignment note".to_owned(),
        maker: asked.maker(),
        day: long_day(order.sent.unwrap_or(asked.today)),
        to: asked.to(order.buyer)?,
        facts: vec![
            Blank::new("Order", order.id.to_string()),
            Blank::new("Next count", next_count),
            Blank::new(
                "Parcels",
                order.parcels.map_or_else(String::new, |n| n.to_string()),
            ),
        ],
        lines,
        sums: sums.into_iter().collect(),
        notes,
        signed: vec![
            "Given by".to_owned(),
            "Received by".to_owned(),
            "Day".to_owned(),
        ],
    }))
}
