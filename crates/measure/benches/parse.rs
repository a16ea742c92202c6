//! How long reading a quantity takes: a journal of 200,000 facts is read at
//! every start. Prints nanoseconds a text, the best of five rounds.

use std::hint::black_box;
use std::time::Instant;

use measure::{Currency, Mass, Money, Ratio, Reading, Temperature, Typed};

const TEXTS: usize = 200_000;

fn nanoseconds(name: &str, texts: &[&str], read: impl Fn(&str)) {
    let best = (0..5)
        .map(|_| {
            let start = Instant::now();
            for text in texts.iter().cycle().take(TEXTS) {
                read(black_box(text));
            }
            start.elapsed().as_secs_f64() * 1e9 / TEXTS as f64
        })
        .fold(f64::INFINITY, f64::min);
    println!("{name:<40} {best:6.0} ns");
}

fn main() {
    let mass = |text: &str| {
        black_box(Typed::<Mass>::parse(text).expect("the text is right"));
    };
    nanoseconds("weight, one term", &["16.7 oz", "453.6 g", "1.5 kg"], mass);
    nanoseconds("weight, ounces", &["16.7 oz"], mass);
    nanoseconds("weight, grams", &["453.6 g"], mass);
    nanoseconds("weight, pounds and ounces", &["1 lb 2.5 oz"], mass);
    nanoseconds("weight, a fraction", &["1/2 lb", "3 1/2 oz"], mass);
    nanoseconds("temperature", &["75 °C", "167 °F"], |text| {
        black_box(Typed::<Temperature>::parse(text).expect("the text is right"));
    });
    nanoseconds("percentage", &["8 %", "7.41 %"], |text| {
        black_box(Ratio::parse(text, Reading::PLAIN).expect("the text is right"));
    });
    nanoseconds("money", &["4.50 USD", "12.00 EUR"], |text| {
        black_box(Money::parse(text, None::<Currency>, Reading::PLAIN).expect("the text is right"));
    });
}
