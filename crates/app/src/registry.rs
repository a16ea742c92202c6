//! Every calculation, reachable by name.
//!
//! A calculation is a plain input type, a plain output type with its working,
//! and a function between them. Adding one takes a line in [`all`].

use measure::Problems;
use schemars::{JsonSchema, Schema};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A calculation by its name.
pub struct Calculation {
    /// Its name in addresses and on the command line.
    pub name: &'static str,
    /// The question it answers.
    pub question: &'static str,
    /// An input that works, as JSON, to start from.
    pub example: &'static str,
    run: Box<dyn Fn(Value) -> Result<Value, Problems> + Send + Sync>,
    input: fn() -> Schema,
    output: fn() -> Schema,
}

impl Calculation {
    fn new<I, O>(
        name: &'static str,
        question: &'static str,
        example: &'static str,
        calculate: impl Fn(&I) -> Result<O, Problems> + Send + Sync + 'static,
    ) -> Self
    where
        I: DeserializeOwned + JsonSchema + 'static,
        O: Serialize + JsonSchema + 'static,
    {
        Self {
            name,
            question,
            example,
            run: Box::new(move |input| {
                let output = calculate(&measure::parse_input(input)?)?;
                Ok(serde_json::to_value(output)
                    .expect("an output's keys are the names of its fields, which are text"))
            }),
            input: || schemars::schema_for!(I),
            output: || schemars::schema_for!(O),
        }
    }

    /// Answers it.
    ///
    /// # Errors
    ///
    /// Every problem of the input, with its field.
    pub fn run(&self, input: Value) -> Result<Value, Problems> {
        (self.run)(input)
    }

    /// The JSON schema of its input.
    pub fn input_schema(&self) -> Schema {
        (self.input)()
    }

    /// The JSON schema of its output.
    pub fn output_schema(&self) -> Schema {
        (self.output)()
    }
}

/// Every calculation, in the order of the job.
pub fn all() -> Vec<Calculation> {
    vec![
        Calculation::new(
            "load",
            "What is this load on the other base, and was it weighed as meant?",
            r#"{"load":"8 % of wax"}"#,
            formula::load::calculate,
        ),
        Calculation::new(
            "weigh-out",
            "How much do I weigh out?",
            r#"{"blend":[{"name":"soy container wax","parts":"90","max_load":"10 % of wax"},{"name":"paraffin melt wax","parts":"10"}],"load":"12 % of wax","target":{"wax":"16.7 oz"},"readability":"0.1 oz"}"#,
            formula::weigh_out::calculate,
        ),
        Calculation::new(
            "fill-advice",
            "How much do I melt?",
            r#"{"cavities":12,"nominal_unit":null,"pours":[{"poured":"18.7 oz","filled":11,"left":"0 oz","unit_weights":["1.5 oz","1.6 oz"]}],"want":12,"chance":"90 %"}"#,
            fill::fill_advice::calculate,
        ),
        Calculation::new(
            "net-weight",
            "May this lot bear the weight on its label?",
            r#"{"rule":"US","declared":"1.5 oz","lot_size":240,"weights":["1.58 oz","1.60 oz","1.57 oz","1.59 oz","1.61 oz","1.58 oz","1.56 oz","1.60 oz","1.59 oz","1.62 oz","1.57 oz","1.58 oz"],"tare":"0.06 oz"}"#,
            netweight::net_weight::calculate,
        ),
        Calculation::new(
            "declare",
            "What weight can I put on the label?",
            r#"{"rule":"US","weights":["1.52 oz","1.54 oz","1.51 oz","1.53 oz","1.55 oz","1.52 oz","1.50 oz","1.54 oz","1.53 oz","1.56 oz","1.51 oz","1.52 oz"],"chance":"99 %","steps":"0.1 oz"}"#,
            netweight::declare::calculate,
        ),
        Calculation::new(
            "overfill",
            "Am I giving wax away?",
            r#"{"rule":"EU","declared":"90 g","average":"91.9 g","spread":"1.6 g","weighed":50,"lot_size":648,"a_year":61000,"cost":"6.05 EUR","cost_per":"1 kg"}"#,
            netweight::overfill::calculate,
        ),
        Calculation::new(
            "unit-cost",
            "What does it cost me?",
            r#"{"materials":[{"name":"soy wax","bought":"10 lb","paid":"26.00 USD","per_batch":"15.5 oz"}],"units":11,"minutes":"40 min","wage":"18 USD"}"#,
            price::unit_cost,
        ),
        Calculation::new(
            "compare-formats",
            "Does the new format earn more?",
            r#"{"wax":"16 oz","formats":[{"name":"clamshell","units":7,"price":{"low":"5 USD","typical":"6 USD","high":"8 USD"},"unit_cost":"1.40 USD","minutes":"30 min"},{"name":"bar","units":11,"price":{"low":"4 USD","typical":"5 USD","high":"6 USD"},"unit_cost":"1.10 USD","minutes":"40 min"}]}"#,
            price::compare_formats,
        ),
        Calculation::new(
            "channel-price",
            "What should I charge here?",
            r#"{"unit_cost":"1.34 USD","channel":{"percent_fee":"6.5 %","fixed_fee":"0.20 USD","payment_percent":"3 %","payment_fixed":"0.25 USD","postage_paid":"0 USD"},"target":{"margin":"60 %"},"tax":{"rate":"8 %","inside":false},"ending":"0.05"}"#,
            price::channel_price,
        ),
        Calculation::new(
            "market-day",
            "What did the day really leave?",
            r#"{"currency":"USD","lines":[{"name":"clamshell","price":"7.00","unit_cost":"1.26892","taken":48,"back":17}],"card_takings":"133.00","cards":9,"card_percent":"2.6 %","card_fixed":"0.10","tax":{"rate":"6.25 %","inside":true},"pitch_fee":"45","travel":"16","other":"20","hours":"9.5 h","minutes_per_unit":"2.4 min","float":"50.00","cash_counted":"134.00"}"#,
            price::market_day,
        ),
        Calculation::new(
            "sale-or-return",
            "A firm order, or sale or return?",
            r#"{"currency":"GBP","retail":"12.00","unit_cost":"4.45","units":24,"firm":{"price":"6.00","delivery":"4.50","paid_after":"30 d"},"sale_or_return":{"share":"65 %","deliveries":2,"delivery":"4.50","sold":"70 %","spoiled":1,"days":"90 d","count_every":"30 d"}}"#,
            price::sale_or_return,
        ),
        Calculation::new(
            "parcel",
            "What do I pack this order in?",
            r#"{"items":[{"name":"bar","count":12,"each":"56.5 g"}],"packings":[{"name":"the box","weight":"95 g"},{"name":"the mailer","weight":"62 g"}],"bands":[{"up_to":"750 g","price":"3.39 GBP"},{"up_to":"1 kg","price":"4.69 GBP"}]}"#,
            price::parcel,
        ),
        Calculation::new(
            "inventory-value",
            "What is my stock worth, and what did the goods that went out cost?",
            r#"{"method":"fifo","movements":[{"day":"2026-01-01","in":"100","cost":"10.00 USD"},{"day":"2026-01-05","out":"60"},{"day":"2026-01-09","in":"80","cost":"11.00 USD"},{"day":"2026-01-20","out":"70"}]}"#,
            ledger::inventory_value::calculate,
        ),
        Calculation::new(
            "trace",
            "Where did it go, and where did it come from?",
            r#"{"start":"wax lot 7","direction":"both","links":[{"from":"wax lot 7","to":"pour 41","weight":"6.8 kg"},{"from":"pour 41","to":"lot A","units":"120"},{"from":"lot A","to":"Quarry Lane","units":"46"},{"from":"lot A","to":"a gift shop","units":"60","resells":true},{"from":"lot A","to":"on hand","units":"14"}],"made":{"lot A":120}}"#,
            ledger::trace::calculate,
        ),
        Calculation::new(
            "demand-at-price",
            "What should I charge?",
            r#"{"product":"bar","sales":[{"day":"2026-03-07","price":"2.50 USD","sold":88},{"day":"2026-03-14","price":"2.50 USD","sold":104},{"day":"2026-03-21","price":"3.50 USD","sold":61},{"day":"2026-03-28","price":"3.50 USD","sold":52},{"day":"2026-04-04","price":"3.00 USD","sold":86},{"day":"2026-04-11","price":"3.00 USD","sold":70}],"unit_cost":"0.74 USD","card":"1.75 %","prices":["2.75 USD","3.25 USD"]}"#,
            demand::demand_at_price,
        ),
        Calculation::new(
            "classify",
            "What is this wax by law, and why?",
            r#"{"jurisdiction":"EU","date":"2026-12-01","form":"solid","oil":[{"name":"limonene","cas":"5989-27-5","share":"12 %","classification":["Flam. Liq. 3 H226","Skin Irrit. 2 H315","Skin Sens. 1B H317","Asp. Tox. 1 H304","Aquatic Acute 1 H400","Aquatic Chronic 3 H412"],"m_acute":1},{"name":"linalool","cas":"78-70-6","share":"5-10 %","classification":["Skin Sens. 1B H317"]}],"load":"10 % of wax","unlisted":"not hazardous"}"#,
            hazard::classify::calculate,
        ),
        Calculation::new(
            "ufi",
            "What is the unique formula identifier, or what does this one say?",
            r#"{"vat":"DE112358132","formulation":134217728}"#,
            hazard::ufi::calculate,
        ),
        Calculation::new(
            "label-elements",
            "What must the label carry?",
            r#"{"jurisdiction":"EU","date":"2026-12-01","classification":["Skin Sens. 1 H317","Aquatic Chronic 3 H412"],"contains":["linalool"],"languages":["en","de"],"capacity":"85 ml"}"#,
            hazard::label::calculate,
        ),
        Calculation::new(
            "label-ladder",
            "How does the label change with the load?",
            r#"{"jurisdiction":"EU","date":"2026-12-01","oil":[{"name":"linalool","cas":"78-70-6","share":"14 %","classification":["Skin Sens. 1B H317"]},{"name":"limonene","cas":"5989-27-5","share":"5-10 %","classification":["Skin Irrit. 2 H315","Skin Sens. 1B H317","Aquatic Acute 1 H400","Aquatic Chronic 3 H412"],"m_acute":1}],"unlisted":"not hazardous","max_load":"12 % of wax","load":"8 % of wax"}"#,
            hazard::ladder::calculate,
        ),
        Calculation::new(
            "sds-read",
            "What is in this oil, by section 3 of its safety data sheet?",
            r#"{"text":"Substance\tCAS No.\tConc. [%]\tClassification\nLinalool\t78-70-6\t5 - 10\tSkin Irrit. 2 H315; Skin Sens. 1B H317"}"#,
            hazard::sheet::calculate,
        ),
        Calculation::new(
            "cut-over",
            "Where do old oil and old labels stop?",
            r#"{"oil":"2.1 kg","load":"10 % of wax","unit_weight":"51.56 g","labels":"412"}"#,
            formula::cut_over::calculate,
        ),
        Calculation::new(
            "wrap",
            "What does it wrap in?",
            r#"{"shape":{"kind":"tapered bar","bottom_length":"96 mm","bottom_width":"42 mm","top_length":"100 mm","top_width":"46 mm","height":"14 mm"},"cover":"full","stock_width":"500 mm"}"#,
            label::wrap::calculate,
        ),
        Calculation::new(
            "label-fit",
            "Does this label fit?",
            r#"{"label_width":"4 in","label_height":"2 in","shape":{"kind":"tapered bar","bottom_length":"96 mm","bottom_width":"42 mm","top_length":"100 mm","top_width":"46 mm","height":"14 mm"},"on":"front"}"#,
            label::fit::calculate,
        ),
        Calculation::new(
            "gtin",
            "What is the check digit of this number, and who may use it?",
            r#"{"digits":"629104150021"}"#,
            label::gtin::calculate,
        ),
    ]
}

/// The calculation of that name.
pub fn find(name: &str) -> Option<Calculation> {
    all()
        .into_iter()
        .find(|calculation| calculation.name == name)
}
