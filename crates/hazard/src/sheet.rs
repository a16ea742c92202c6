//! Reading section 3 of a safety data sheet: a table in, proposals out.
//!
//! What is read is proposed, with the lines it came from and what is doubtful
//! about it; the maker compares it with the sheet. What was not understood is
//! listed and never dropped. Nothing here keeps anything.

pub mod calculation;
mod head;
mod layout;
mod record;
mod scan;

use measure::{Problem, Problems};

use crate::cas::Cas;
use crate::class::Hazard;
use crate::ingredient::{AcuteEstimate, Band, Ingredient};
use crate::share::Share;

pub use calculation::calculate;
pub use head::Head;

/// The most text that is read, in bytes; a sheet has some ten thousand.
pub const LONGEST: usize = 2_000_000;
/// The most lines of one section that are taken for a table.
const MOST_LINES: usize = 5_000;

/// What a sheet's text says, as proposals.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Of the sheet itself.
    pub head: Head,
    /// Whether a heading of section 3 was found; without one the whole text is
    /// read as the table.
    pub has_heading: bool,
    /// One proposal a substance, in the sheet's order.
    pub proposals: Vec<Proposal>,
    /// Lines taken for headings of the table.
    pub headings: Vec<SourceLine>,
    /// What stands in the section and was not understood.
    pub not_understood: Vec<SourceLine>,
}

/// A line of the text, by its number from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceLine {
    /// Its number.
    pub number: usize,
    /// Its words; only those left over, where the rest was understood.
    pub text: String,
}

impl From<&layout::Line> for SourceLine {
    fn from(line: &layout::Line) -> Self {
        Self {
            number: line.number,
            text: line.text.clone(),
        }
    }
}

/// A substance as the sheet seems to give it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    /// The name.
    pub name: String,
    /// The CAS number, if there is one whose check digit is right.
    pub cas: Option<Cas>,
    /// The EC number.
    pub ec: Option<String>,
    /// The index number of CLP Annex VI.
    pub index: Option<String>,
    /// The REACH registration number.
    pub reach: Option<String>,
    /// The share.
    pub share: Option<Share>,
    /// The classes; none where the sheet gives none, empty where it says so.
    pub hazards: Option<Vec<Hazard>>,
    /// The multiplying factor for Aquatic Acute 1.
    pub m_acute: Option<u32>,
    /// The multiplying factor for Aquatic Chronic 1.
    pub m_chronic: Option<u32>,
    /// Acute toxicity estimates.
    pub estimates: Vec<AcuteEstimate>,
    /// Specific concentration limits.
    pub bands: Vec<Band>,
    /// The lines all this came from.
    pub lines: Vec<SourceLine>,
    /// What is doubtful, by field.
    pub doubts: Vec<Problem>,
}

impl Proposal {
    /// The ingredient it would be once confirmed; none without a share.
    pub fn ingredient(&self) -> Option<Ingredient> {
        Some(Ingredient {
            name: self.name.clone(),
            cas: self.cas,
            share: self.share?,
            hazards: self.hazards.clone(),
            m_acute: self.m_acute,
            m_chronic: self.m_chronic,
            estimates: self.estimates.clone(),
            bands: self.bands.clone(),
        })
    }
}

/// Reads a sheet's text: the whole sheet, its section 3, or the table alone.
/// Cells may be parted by tabs, bars, two spaces or more, or stand one a line;
/// a CSV with headings in any order is read too.
///
/// # Errors
///
/// A problem with `text` when it is empty or far too long.
pub fn read(text: &str) -> Result<Sheet, Problems> {
    const ACCEPTED: &str = "paste section 3 of the safety data sheet, with its table";
    if text.trim().is_empty() {
        return Err(Problem::new("text", "", "there is no text", ACCEPTED).into());
    }
    if text.len() > LONGEST {
        return Err(Problem::new(
            "text",
            "",
            "that is far longer than a safety data sheet",
            ACCEPTED,
        )
        .into());
    }
    let lines: Vec<(usize, String)> = text
        .split('\n')
        .zip(1..)
        .map(|(line, number)| (number, scan::plain(line.trim_end_matches('\r'))))
        .collect();
    let (from, to, has_heading) = section(&lines);
    let inside = lines.get(from..to).unwrap_or_default();
    if inside.len() > MOST_LINES {
        return Err(Problem::new(
            "text",
            "",
            "section 3 has more lines than any sheet",
            ACCEPTED,
        )
        .into());
    }
    let lexicon = scan::Lexicon::new();
    let table = layout::table(inside, &lexicon);
    let mut sheet = Sheet {
        head: head::head(&lines),
        has_heading,
        ..Sheet::default()
    };
    sheet.not_understood = table.strays.iter().map(SourceLine::from).collect();
    sheet.headings = table.headings.iter().map(SourceLine::from).collect();
    for lines in &table.records {
        let (proposal, left) = record::proposal(lines, &table, &lexicon);
        sheet.proposals.extend(proposal);
        sheet.not_understood.extend(left);
    }
    sheet.not_understood.sort_by_key(|line| line.number);
    Ok(sheet)
}

/// Where section 3 lies. A table of contents names it too, so of several
/// places the one with the most numbers of substances is taken.
fn section(lines: &[(usize, String)]) -> (usize, usize, bool) {
    let heads: Vec<(usize, u8)> = lines
        .iter()
        .enumerate()
        .filter_map(|(at, (_, text))| Some((at, heading_number(text)?)))
        .collect();
    // From the last heading back, so that each knows where its section ends,
    // and how many lines with figures it has, in one go over the text.
    let mut best: Option<(usize, usize, usize)> = None;
    let mut end = lines.len();
    let mut below = lines.len();
    let mut figures = 0;
    for (at, number) in heads.iter().rev() {
        if *number != 3 {
            (end, below, figures) = (*at, *at, 0);
            continue;
        }
        figures += lines
            .get(at + 1..below)
            .unwrap_or_default()
            .iter()
            .filter(|(_, text)| has_figures(text))
            .count();
        if best.is_none_or(|(_, _, most)| figures >= most) {
            best = Some((at + 1, end, figures));
        }
        figures += usize::from(lines.get(*at).is_some_and(|(_, text)| has_figures(text)));
        below = *at;
    }
    if let Some((from, to, _)) = best {
        return (from, to, true);
    }
    // The start may be cut off, the end not.
    let end = heads
        .iter()
        .find(|(_, number)| *number == 4)
        .map_or(lines.len(), |(at, _)| *at);
    (0, end, false)
}

/// Whether a line has more figures than a number of a section.
fn has_figures(text: &str) -> bool {
    text.bytes().filter(u8::is_ascii_digit).count() > 3
}

/// The number of a section whose heading a line is, 1 to 16.
fn heading_number(text: &str) -> Option<u8> {
    let lower = text
        .trim_start_matches(|sign: char| {
            sign.is_whitespace() || matches!(sign, '#' | '*' | '|' | '>' | '_')
        })
        .to_lowercase();
    let named = ["section", "abschnitt", "rubrique", "sección", "seccion"]
        .iter()
        .find_map(|word| lower.strip_prefix(word));
    let rest = named.unwrap_or(&lower).trim_start();
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    let number: u8 = digits
        .parse()
        .ok()
        .filter(|number| (1..=16).contains(number))?;
    let tail = rest
        .get(digits.len()..)?
        .trim_start_matches(['.', ':', ' ', '\t', '-', ')']);
    // 3.2 is a part of section 3, not its heading.
    if rest.get(digits.len()..)?.starts_with('.')
        && tail.starts_with(|sign: char| sign.is_ascii_digit())
    {
        return None;
    }
    if named.is_some() {
        let continued =
            tail.starts_with("of the") || tail.starts_with("for ") || tail.starts_with("and ");
        return (!continued).then_some(number);
    }
    let says = |stems: &[&str]| stems.iter().any(|stem| tail.starts_with(stem));
    match number {
        3 => says(&["composition", "zusammensetzung", "composición"]),
        4 => says(&[
            "first",
            "erste",
            "premiers",
            "primeros",
            "mesures de premiers",
        ]),
        _ => false,
    }
    .then_some(number)
}
