//! `print`: the papers of a workshop as files.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::{Context, Result};
use app::forms::Filled;
use app::paper::{self, NoPaper};
use app::proof;
use app::{App, SystemClock};
use clap::Args;
use measure::{Problem, Problems};

use crate::commands::{existing, refuse, say, workshop_of};
use crate::config::Config;

#[derive(Debug, Args)]
pub(crate) struct Print {
    /// Which document
    #[arg(required_unless_present = "list")]
    document: Option<String>,
    /// Name them all, with what each wants
    #[arg(long)]
    list: bool,
    /// The file to write, ending in .pdf or, for a picture of one page, in .svg;
    /// `-` is standard output
    #[arg(short, long, value_name = "FILE", required_unless_present = "list")]
    output: Option<PathBuf>,
    /// A lot, by its code or number
    #[arg(long)]
    lot: Option<String>,
    /// A good, by its name or number
    #[arg(long)]
    product: Option<String>,
    /// A supply, by its name or number
    #[arg(long)]
    supply: Option<String>,
    /// a4 or letter [default: letter where the workshop weighs in US units]
    #[arg(long)]
    page: Option<String>,
    /// en, de, fr or es [default: those of the workshop's labels]
    #[arg(long)]
    language: Option<String>,
    /// Size of cards and signs: a5, a6 or a7 [default: a6]
    #[arg(long)]
    size: Option<String>,
    /// Care card: where it is sold, eu, gb or us [default: the first market of the labels]
    #[arg(long)]
    market: Option<String>,
    /// Care card: the distance between burning candles, such as "10 cm"
    #[arg(long)]
    apart: Option<String>,
    /// Packing slip: a line of the address; give it again for the next
    #[arg(long, value_name = "TEXT")]
    to: Vec<String>,
    /// One of your orders; on a packing slip also the buyer's own number
    #[arg(long)]
    order: Option<String>,
    /// An invoice or credit note, by its number
    #[arg(long, value_name = "NUMBER")]
    invoice: Option<String>,
    /// Consignment note: when the shop is counted next
    #[arg(long, value_name = "WHEN")]
    next_count: Option<String>,
    /// Packing slip: "GOOD=12", "LOT=12" or "GOOD, LOT=12"; give it again for more
    #[arg(long, value_name = "WHAT=HOW MANY")]
    line: Vec<String>,
    /// Line sheet: "50 %" of the usual price, or "GOOD=2.60"; may be given again
    #[arg(long, value_name = "PRICE")]
    trade: Vec<String>,
    /// Line sheet: the least that is sent
    #[arg(long)]
    minimum: Option<String>,
    /// Line sheet: delivery and payment
    #[arg(long)]
    terms: Option<String>,
    /// Lists: a remark below; may be given again
    #[arg(long, value_name = "TEXT")]
    note: Vec<String>,
    /// Recall: with --supply, the supplier's lot; only lots poured since it came
    #[arg(long)]
    supplier_lot: Option<String>,
    /// Recall: what is wrong
    #[arg(long)]
    reason: Option<String>,
    /// Recall: where and when it was sold
    #[arg(long)]
    sold: Option<String>,
    /// Recall: what is offered to the buyer
    #[arg(long)]
    remedy: Option<String>,
    /// Labels and calibration: a label sheet on hand, by its name or number
    #[arg(long)]
    stock: Option<String>,
    /// Labels: how many
    #[arg(long)]
    count: Option<String>,
    /// Labels: the first place that still has a label, counted along the rows
    #[arg(long)]
    start: Option<String>,
    /// Labels: where they go, by name or number [default: where goods are sold]
    #[arg(long)]
    destination: Option<String>,
    /// Labels: whole, front or back
    #[arg(long)]
    part: Option<String>,
    /// Labels: ledger, plate or ribbon [default: whichever fits]
    #[arg(long)]
    layout: Option<String>,
    /// Labels: black or amber
    #[arg(long)]
    ink: Option<String>,
    /// Labels: the mark ℮ beside the net weight
    #[arg(long)]
    e_mark: bool,
    /// Labels: a printer that was measured, to put right what it does
    #[arg(long)]
    printer: Option<String>,
    /// Labels: what a square code holds
    #[arg(long, value_name = "ADDRESS")]
    link: Option<String>,
    /// Labels: short lines where to cut
    #[arg(long)]
    cut: bool,
    /// Which page an .svg shows
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    number: usize,
}

/// What the file is to be.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Pdf,
    Svg,
}

impl Print {
    pub(crate) fn run(&self, config: &Config) -> Result<ExitCode> {
        if self.list {
            for paper in paper::all() {
                let wants = paper.about.words();
                say(&format!("{:<16} {wants:<30} {}", paper.name, paper.purpose))?;
            }
            for (name, wants, purpose) in proof::DOCUMENTS {
                say(&format!("{name:<16} {wants:<30} {purpose}"))?;
            }
            return Ok(ExitCode::SUCCESS);
        }
        let output = self.output.as_deref().unwrap_or(Path::new("-"));
        let name = self.document.as_deref().unwrap_or_default();
        if proof::DOCUMENTS.iter().any(|(known, ..)| *known == name) {
            return self.on_labels(config, name, output);
        }
        let paper = match paper::named(name) {
            Ok(paper) => paper,
            Err(problem) => return Ok(refuse(&problem.into(), false)),
        };
        let form = match form_of(output) {
            Ok(form) => form,
            Err(problem) => return Ok(refuse(&problem.into(), false)),
        };
        let mut strays = strays(paper.name, &self.label(), &["product", "lot", "apart"]);
        as_destination(&mut strays);
        if !strays.0.is_empty() {
            return Ok(refuse(&as_flags(strays), false));
        }
        let (store, path) = existing(config)?;
        let workshop = workshop_of(&store)?;
        let app = App::open(Arc::new(store), Arc::new(SystemClock), workshop)
            .with_context(|| format!("could not open the workshop in {}", path.display()))?;
        let drawn = paper
            .draw(&app, &self.filled())
            .and_then(|document| match form {
                Form::Pdf => Ok((paper::pdf(&document)?, document.pages.len())),
                Form::Svg => {
                    let svg = paper::svg(&document, self.number)?;
                    Ok((svg.into_bytes(), document.pages.len()))
                }
            });
        let (bytes, pages) = match drawn {
            Ok(drawn) => drawn,
            Err(NoPaper::Asked(problems)) => return Ok(refuse(&as_flags(problems), false)),
            Err(error @ NoPaper::Unread(_)) => {
                return Err(error).with_context(|| format!("could not read {}", path.display()));
            }
        };
        write(output, &bytes)?;
        let pages = match (form, pages) {
            (Form::Svg, pages) => format!("page {} of {pages}", self.number),
            (Form::Pdf, 1) => "1 page".to_owned(),
            (Form::Pdf, pages) => format!("{pages} pages"),
        };
        eprintln!("{}, {pages}.", paper.title);
        if !paper.caution.is_empty() {
            eprintln!("{}", paper.caution);
        }
        Ok(ExitCode::SUCCESS)
    }

    /// Labels and what belongs to them: their paper is a label sheet.
    fn on_labels(&self, config: &Config, name: &str, output: &Path) -> Result<ExitCode> {
        let taken: &[&str] = if name == "calibration" {
            &[]
        } else {
            &["product", "lot", "apart"]
        };
        let strays = strays(name, &self.filled(), taken);
        if !strays.0.is_empty() {
            return Ok(refuse(&as_flags(strays), false));
        }
        let form = match form_of(output) {
            Ok(form) => form,
            Err(problem) => return Ok(refuse(&problem.into(), false)),
        };
        let (store, path) = existing(config)?;
        let workshop = workshop_of(&store)?;
        let app = App::open(Arc::new(store), Arc::new(SystemClock), workshop)
            .with_context(|| format!("could not open the workshop in {}", path.display()))?;
        let drawn = proof::document(&app, name, &self.label())
            .with_context(|| format!("could not read {}", path.display()))?;
        let written =
            drawn
                .unwrap_or_else(|| Err(Problems::default()))
                .and_then(|(document, words)| {
                    let bytes = match form {
                        Form::Pdf => paper::pdf(&document),
                        Form::Svg => paper::svg(&document, self.number).map(String::into_bytes),
                    };
                    match bytes {
                        Ok(bytes) => Ok((bytes, document.pages.len(), words)),
                        Err(NoPaper::Asked(problems)) => Err(problems),
                        Err(NoPaper::Unread(_)) => Err(Problems::default()),
                    }
                });
        let (bytes, pages, words) = match written {
            Ok(written) => written,
            Err(mut problems) => {
                as_destination(&mut problems);
                return Ok(refuse(&as_flags(problems), false));
            }
        };
        write(output, &bytes)?;
        let pages = if pages == 1 {
            "1 page".to_owned()
        } else {
            format!("{pages} pages")
        };
        eprintln!("{pages}. {words}");
        Ok(ExitCode::SUCCESS)
    }

    /// What was asked of a label, by the names its form has.
    fn label(&self) -> Filled {
        let cut = self.cut.then(|| "yes".to_owned());
        let e_mark = self.e_mark.then(|| "yes".to_owned());
        let named = [
            ("product", &self.product),
            ("lot", &self.lot),
            ("stock", &self.stock),
            ("count", &self.count),
            ("start", &self.start),
            ("to", &self.destination),
            ("part", &self.part),
            ("layout", &self.layout),
            ("ink", &self.ink),
            ("e_mark", &e_mark),
            ("printer", &self.printer),
            ("apart", &self.apart),
            ("link", &self.link),
            ("cut", &cut),
        ];
        let pairs = named
            .into_iter()
            .filter_map(|(name, text)| Some((name.to_owned(), text.clone()?)));
        Filled::new(pairs.collect())
    }

    fn filled(&self) -> Filled {
        let one = [
            ("lot", &self.lot),
            ("product", &self.product),
            ("supply", &self.supply),
            ("page", &self.page),
            ("language", &self.language),
            ("size", &self.size),
            ("market", &self.market),
            ("apart", &self.apart),
            ("order", &self.order),
            ("invoice", &self.invoice),
            ("next-count", &self.next_count),
            ("minimum", &self.minimum),
            ("terms", &self.terms),
            ("supplier-lot", &self.supplier_lot),
            ("reason", &self.reason),
            ("sold", &self.sold),
            ("remedy", &self.remedy),
        ];
        let many = [
            ("to", &self.to),
            ("line", &self.line),
            ("trade", &self.trade),
            ("note", &self.note),
        ];
        let one = one
            .into_iter()
            .filter_map(|(name, text)| Some((name.to_owned(), text.clone()?)));
        let many = many.into_iter().flat_map(|(name, texts)| {
            texts
                .iter()
                .map(move |text| (name.to_owned(), text.clone()))
        });
        Filled::new(one.chain(many).collect())
    }
}

/// A problem for every option that was given and that a document takes no
/// notice of.
fn strays(document: &str, given: &Filled, taken: &[&str]) -> Problems {
    let pairs = given.pairs().iter();
    let stray = pairs.filter(|(name, _)| !taken.contains(&name.as_str()));
    let problem = |(name, text): &(String, String)| {
        let wrong = format!("{document} takes no such option");
        Problem::new(name, text, wrong, "leave it out")
    };
    Problems(stray.map(problem).collect())
}

/// Only the name of a paper or a picture is written over: a slip must not cost
/// a journal.
fn form_of(output: &Path) -> Result<Form, Problem> {
    if output == Path::new("-") {
        return Ok(Form::Pdf);
    }
    let end = output.extension().and_then(|end| end.to_str());
    match end.map(str::to_ascii_lowercase).as_deref() {
        Some("pdf") => Ok(Form::Pdf),
        Some("svg") => Ok(Form::Svg),
        _ => Err(Problem::new(
            "--output",
            output.display().to_string(),
            "the name does not say what it is to be",
            "end it in .pdf or .svg, or write - for standard output",
        )),
    }
}

fn write(output: &Path, bytes: &[u8]) -> Result<()> {
    if output == Path::new("-") {
        let mut out = std::io::stdout().lock();
        return out
            .write_all(bytes)
            .and_then(|()| out.flush())
            .context("could not write to standard output");
    }
    std::fs::write(output, bytes).with_context(|| format!("could not write {}", output.display()))
}

/// A label's form asks where it goes by another name.
fn as_destination(problems: &mut Problems) {
    for problem in &mut problems.0 {
        if problem.field == "to" {
            "destination".clone_into(&mut problem.field);
        }
    }
}

/// Fields named as they are typed here.
fn as_flags(mut problems: Problems) -> Problems {
    for problem in &mut problems.0 {
        if problem.field != "document" && problem.field != "text" {
            problem.field = format!("--{}", problem.field);
        }
    }
    problems
}
