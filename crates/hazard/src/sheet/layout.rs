//! From the lines of a sheet to the records of its table.
//!
//! Sheets lay their section 3 out in many ways. The lines are cut into cells,
//! then cut into records by several rules at once; the rule whose records look
//! most like substances (one CAS number, one share, a name, classes) is taken.

use super::scan::{Kind, Lexicon, Scrap, Shares};

/// What a column holds, by its heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Name,
    Ids,
    Share,
    Class,
    Limits,
    Other,
}

/// A line of the sheet in cells.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Its number in the whole text, from 1.
    pub(super) number: usize,
    pub(super) text: String,
    pub(super) cells: Vec<Cell>,
    /// How many cells it has by its tabs, empty ones too; 0 without tabs.
    tabs: usize,
    /// Whether a heading was repeated right before it, on a new page.
    resumes: bool,
}

#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// The column, where the line's form tells it.
    pub(super) column: Option<usize>,
    /// The role a label before it gives: `Concentration: 5 %`.
    pub(super) label: Option<Role>,
    from: usize,
    to: usize,
    pub(super) text: String,
}

/// The records of a section, and what its headings said.
#[derive(Debug, Default)]
pub(super) struct Table {
    pub(super) records: Vec<Vec<Line>>,
    /// Lines in the section that belong to no record.
    pub(super) strays: Vec<Line>,
    /// Lines taken for headings.
    pub(super) headings: Vec<Line>,
    pub(super) roles: Vec<Option<Role>>,
    /// Whether a heading or a figure of the section says percent.
    pub(super) says_percent: bool,
    /// Whether shares stand in a column or behind a label of their own.
    share_column: bool,
}

impl Table {
    pub(super) fn role(&self, column: Option<usize>) -> Option<Role> {
        column.and_then(|column| self.roles.get(column).copied().flatten())
    }

    pub(super) fn shares(&self, role: Option<Role>) -> Shares {
        shares_for(role, self.share_column)
    }
}

fn shares_for(role: Option<Role>, share_column: bool) -> Shares {
    match role {
        Some(Role::Share) => Shares::Column,
        Some(Role::Limits) => Shares::Limits,
        _ if share_column => Shares::Never,
        Some(Role::Class | Role::Ids) => Shares::Never,
        Some(Role::Name | Role::Other) | None => Shares::Anywhere,
    }
}

/// Cuts the lines of a section into records.
pub(super) fn table(lines: &[(usize, String)], lexicon: &Lexicon) -> Table {
    let mut lines = cells_of(lines);
    let first_data = lines
        .iter()
        .position(|line| has_data(line, lexicon))
        .unwrap_or(lines.len());
    let heads: Vec<bool> = lines
        .iter()
        .enumerate()
        .map(|(at, line)| {
            is_heading(line, lexicon) || (at < first_data && is_heading_word(line, lexicon))
        })
        .collect();
    let heads = with_heading_wraps(&lines, heads, lexicon);
    let start = heads
        .iter()
        .position(|head| *head)
        .unwrap_or_else(|| first_of_block(&lines, first_data, lexicon));
    place_by_gaps(lines.get_mut(start..).unwrap_or_default());
    let mut table = Table {
        roles: roles_of(&lines, &heads),
        says_percent: lines.iter().any(|line| line.text.contains('%')),
        ..Table::default()
    };
    let mut body = Vec::new();
    let mut resumes = false;
    for (at, (mut line, head)) in lines.into_iter().zip(heads).enumerate() {
        if head {
            table.headings.push(line);
            resumes = true;
            continue;
        }
        if at < start || is_prose(&line, lexicon) {
            // What follows a sentence is a record of its own, if any.
            if at >= start {
                body.push(Line {
                    number: line.number,
                    text: String::new(),
                    cells: Vec::new(),
                    tabs: 0,
                    resumes: false,
                });
            }
            let numbered = line
                .cells
                .first()
                .is_some_and(|cell| is_part_number(&cell.text));
            if numbered {
                table.headings.push(line);
            } else if !line.cells.is_empty() {
                table.strays.push(line);
            }
        } else {
            if !line.cells.is_empty() {
                line.resumes = std::mem::take(&mut resumes);
            }
            body.push(line);
        }
    }
    shift_wraps(&mut body, &table, lexicon);
    for line in &mut body {
        take_label_cells(line);
        line.cells.iter_mut().for_each(take_label);
    }
    let labelled = body
        .iter()
        .flat_map(|line| &line.cells)
        .any(|cell| cell.label == Some(Role::Share));
    table.share_column = labelled || table.roles.contains(&Some(Role::Share));
    let marks = marks_of(&body, &table, lexicon);
    let starts = [Rule::Blank, Rule::Row, Rule::Cas, Rule::Name, Rule::Share]
        .into_iter()
        .map(|rule| cut(rule, &body, &marks))
        .max_by_key(|starts| (worth(starts, &marks), std::cmp::Reverse(starts.len())))
        .unwrap_or_default();
    let mut current: Option<Vec<Line>> = None;
    for (at, line) in body.into_iter().enumerate() {
        if starts.binary_search(&at).is_ok() {
            table.records.extend(current.replace(Vec::new()));
        }
        if line.cells.is_empty() {
            continue;
        }
        match &mut current {
            Some(record) => record.push(line),
            None => table.strays.push(line),
        }
    }
    table.records.extend(current);
    table.records.retain(|record| !record.is_empty());
    table
}

/// Where the block of lines begins that holds the first data: a name may stand
/// above its numbers.
fn first_of_block(lines: &[Line], first_data: usize, lexicon: &Lexicon) -> usize {
    let above = lines.get(..first_data).unwrap_or_default();
    let block = above
        .iter()
        .rev()
        .take(3)
        .take_while(|line| !line.cells.is_empty() && !is_prose(line, lexicon))
        .count();
    first_data - block
}

fn cells_of(lines: &[(usize, String)]) -> Vec<Line> {
    let heading = lines.iter().enumerate().find_map(|(at, (_, text))| {
        [';', ','].into_iter().find_map(|mark| {
            let cells: Vec<&str> = text.split(mark).collect();
            let mut roles: Vec<Role> = cells.iter().filter_map(|cell| role_of(cell)).collect();
            roles.dedup();
            let plain = !text.contains('\t') && !text.contains('|') && !text.contains("   ");
            (plain && cells.len() >= 3 && roles.len() >= 3).then_some((at, mark))
        })
    });
    let Some((at, mark)) = heading else {
        return lines
            .iter()
            .map(|(number, text)| cut_line(*number, text))
            .collect();
    };
    let (before, rows) = lines.split_at(at);
    let mut out: Vec<Line> = before
        .iter()
        .map(|(number, text)| cut_line(*number, text))
        .collect();
    let mut open: Option<(usize, String)> = None;
    for (at, (number, text)) in rows.iter().enumerate() {
        let (first, whole) = match open.take() {
            Some((first, held)) => (first, format!("{held}\n{text}")),
            None => (at, text.clone()),
        };
        // An odd number of quotes: the cell goes on in the next line.
        if !whole.matches('"').count().is_multiple_of(2) && whole.len() < 20_000 {
            open = Some((first, whole));
        } else {
            let number = rows.get(first).map_or(*number, |(number, _)| *number);
            out.push(csv_line(number, &whole, mark));
        }
    }
    // A quote that is never closed holds nothing together.
    if let Some((first, _)) = open {
        let rest = rows.get(first..).unwrap_or_default();
        out.extend(
            rest.iter()
                .map(|(number, text)| csv_line(*number, text, mark)),
        );
    }
    out
}

fn csv_line(number: usize, text: &str, mark: char) -> Line {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '"' if quoted && signs.peek() == Some(&'"') => {
                signs.next();
                if let Some(cell) = cells.last_mut() {
                    cell.push('"');
                }
            }
            '"' => quoted = !quoted,
            sign if sign == mark && !quoted => cells.push(String::new()),
            sign => {
                if let Some(cell) = cells.last_mut() {
                    cell.push(sign);
                }
            }
        }
    }
    numbered(number, text, &cells)
}

fn numbered<S: AsRef<str>>(number: usize, text: &str, cells: &[S]) -> Line {
    Line {
        number,
        text: text.trim().to_owned(),
        cells: cells
            .iter()
            .enumerate()
            .filter(|(_, cell)| !cell.as_ref().trim().is_empty())
            .map(|(column, cell)| Cell {
                column: Some(column),
                label: None,
                from: 0,
                to: 0,
                text: cell.as_ref().trim().to_owned(),
            })
            .collect(),
        tabs: 0,
        resumes: false,
    }
}

fn cut_line(number: usize, text: &str) -> Line {
    let ruled = !text.trim().is_empty()
        && text.chars().all(|sign| {
            matches!(
                sign,
                '-' | '=' | '_' | '+' | '|' | ':' | ' ' | '\t' | '.' | '*' | '\u{2500}'
                    ..='\u{257f}'
            )
        });
    if ruled || text.trim().is_empty() {
        return Line {
            number,
            text: String::new(),
            cells: Vec::new(),
            tabs: 0,
            resumes: false,
        };
    }
    if text.contains('\t') {
        let cells: Vec<&str> = text.split('\t').collect();
        let mut line = numbered(number, text, &cells);
        line.tabs = cells.len();
        // A lone cell may be the rest of any.
        if let ([cell], true) = (line.cells.as_mut_slice(), cells.len() == 1) {
            cell.column = None;
        }
        return line;
    }
    let piped = text.replace(['\u{2502}', '\u{2503}', '\u{2551}', '\u{a6}'], "|");
    if piped.contains('|') {
        let inner = piped.trim();
        let inner = inner.strip_prefix('|').unwrap_or(inner);
        let inner = inner.strip_suffix('|').unwrap_or(inner);
        let cells: Vec<&str> = inner.split('|').collect();
        return numbered(number, text, &cells);
    }
    // Two spaces or more part cells.
    let signs: Vec<char> = text.chars().collect();
    let mut cells = Vec::new();
    let mut from = 0;
    while from < signs.len() {
        let mut to = from;
        let mut spaces = 0;
        let mut end = from;
        while to < signs.len() && spaces < 2 {
            if signs.get(to).is_some_and(|sign| sign.is_whitespace()) {
                spaces += 1;
            } else {
                spaces = 0;
                end = to + 1;
            }
            to += 1;
        }
        if end > from {
            let start = from
                + signs
                    .get(from..end)
                    .unwrap_or_default()
                    .iter()
                    .take_while(|sign| sign.is_whitespace())
                    .count();
            let piece: String = signs.get(start..end).unwrap_or_default().iter().collect();
            if !piece.trim().is_empty() {
                cells.push(Cell {
                    column: None,
                    label: None,
                    from: start,
                    to: end,
                    text: piece,
                });
            }
        }
        from = to.max(from + 1);
    }
    Line {
        number,
        text: text.trim().to_owned(),
        cells,
        tabs: 0,
        resumes: false,
    }
}

/// Finds the columns of lines laid out by spaces: the stretches that some line
/// covers, parted by those that none does.
fn place_by_gaps(lines: &mut [Line]) {
    let mut covered: Vec<bool> = Vec::new();
    for line in lines.iter().filter(|line| line.cells.len() >= 2) {
        for cell in line.cells.iter().filter(|cell| cell.to > 0) {
            if covered.len() < cell.to {
                covered.resize(cell.to, false);
            }
            if let Some(places) = covered.get_mut(cell.from..cell.to) {
                places.fill(true);
            }
        }
    }
    let mut columns: Vec<(usize, usize)> = Vec::new();
    for (place, is_covered) in covered.into_iter().enumerate() {
        match columns.last_mut() {
            _ if !is_covered => {}
            Some((_, to)) if *to == place => *to = place + 1,
            _ => columns.push((place, place + 1)),
        }
    }
    if columns.len() < 3 {
        return;
    }
    for line in lines {
        for cell in line.cells.iter_mut().filter(|cell| cell.to > 0) {
            cell.column = columns
                .iter()
                .enumerate()
                .map(|(column, (from, to))| {
                    let shared = (*to).min(cell.to).saturating_sub((*from).max(cell.from));
                    (shared, column)
                })
                .max_by_key(|(shared, column)| (*shared, std::cmp::Reverse(*column)))
                .filter(|(shared, _)| *shared > 0)
                .map(|(_, column)| column);
        }
    }
}

fn words(text: &str) -> impl Iterator<Item = String> {
    text.split(|sign: char| !sign.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .into_iter()
}

/// Every role a heading's words speak of, the one that decides first.
fn roles_in(text: &str) -> Vec<Role> {
    let lower = text.to_lowercase();
    let says = |stems: &[&str]| stems.iter().any(|stem| lower.contains(stem));
    let word = |wanted: &[&str]| words(text).any(|word| wanted.contains(&word.as_str()));
    let name = says(&[
        "name",
        "substan",
        "stoff",
        "component",
        "komponent",
        "composant",
        "ingredient",
        "ingrédient",
        "bezeichnung",
        "sustanc",
        "denomin",
        "désign",
        "nombre",
        "material",
        "bestandteil",
        "constituent",
        "chemical",
        "chimique",
        "químic",
    ]) || word(&["nom", "noms"]);
    let hazardous = says(&["hazardous", "gefährlich", "dangereu", "peligros"]);
    let mut roles = Vec::new();
    let m_factor = says(&[
        "m-fac",
        "m-fak",
        "m fac",
        "facteur m",
        "facteurs m",
        "factor m",
        "factores m",
    ]);
    if says(&[
        "specific", "spezif", "specif", "específ", "spécif", "limit", "grenz", "límit",
    ]) || m_factor
        || word(&["ate", "eta", "scl", "skg"])
    {
        roles.push(Role::Limits);
    }
    if !(hazardous && name)
        && says(&[
            "classif",
            "einstuf",
            "clasific",
            "hazard",
            "gefahr",
            "1272/2008",
            "danger",
            "peligro",
            "phrase",
            "h-s",
            "h-c",
            "h state",
            "h code",
        ])
        || word(&["clp", "ghs"])
    {
        roles.push(Role::Class);
    }
    if says(&[
        "%",
        "conc",
        "konz",
        "content",
        "gehalt",
        "anteil",
        "teneur",
        "contenido",
        "cantidad",
        "quantit",
        "amount",
        "w/w",
        "percent",
        "poids",
        "peso",
        "weight",
    ]) || word(&["wt", "gew", "share", "qty"])
    {
        roles.push(Role::Share);
    }
    if name {
        roles.push(Role::Name);
    }
    if word(&["cas", "ec", "eg", "ce", "einecs", "index", "reach"]) || says(&["identif", "registr"])
    {
        roles.push(Role::Ids);
    }
    roles
}

fn role_of(text: &str) -> Option<Role> {
    if words(text).count() > 14 {
        return None;
    }
    roles_in(text).first().copied()
}

fn tokens_of(text: &str, shares: Shares, lexicon: &Lexicon) -> (Scrap, Vec<Kind>) {
    let mut scrap = Scrap::new(text);
    let kinds = scrap
        .tokens(lexicon, shares)
        .into_iter()
        .map(|token| token.kind)
        .collect();
    (scrap, kinds)
}

/// Whether a line holds what a substance has, not only a share.
fn has_data(line: &Line, lexicon: &Lexicon) -> bool {
    line.cells.iter().any(|cell| {
        let (_, kinds) = tokens_of(&cell.text, Shares::Anywhere, lexicon);
        kinds.iter().any(|kind| match kind {
            Kind::Share(spotted) => {
                spotted.share.is_some()
                    && (spotted.percent || spotted.text.contains(['-', '<', '>']))
            }
            _ => true,
        })
    })
}

fn is_heading(line: &Line, lexicon: &Lexicon) -> bool {
    if line.cells.is_empty() || has_data(line, lexicon) {
        return false;
    }
    let mut roles: Vec<Role> = if line.cells.len() > 1 {
        line.cells
            .iter()
            .filter_map(|cell| role_of(&cell.text))
            .collect()
    } else if words(&line.text).count() <= 16 && !line.text.trim_end().ends_with(['.', ':']) {
        let roles = roles_in(&line.text);
        if roles.len() < 3 {
            return false;
        }
        roles
    } else {
        Vec::new()
    };
    roles.dedup();
    let cells = line.cells.len();
    roles.len() >= 2 && (cells == 1 || roles.len() * 2 >= cells)
}

/// A heading that stands on a line of its own, one cell a line.
fn is_heading_word(line: &Line, lexicon: &Lexicon) -> bool {
    match line.cells.as_slice() {
        [cell] => {
            !has_data(line, lexicon)
                && words(&cell.text).count() <= 12
                && cell
                    .text
                    .split_once(':')
                    .is_none_or(|(_, value)| value.trim().is_empty())
                && !cell.text.ends_with(['.', ':'])
                && role_of(&cell.text).is_some()
        }
        _ => false,
    }
}

/// Adds the lines right above and below a heading that only carry its words on.
fn with_heading_wraps(lines: &[Line], mut heads: Vec<bool>, lexicon: &Lexicon) -> Vec<bool> {
    let carries = |line: &Line| {
        !line.cells.is_empty()
            && !has_data(line, lexicon)
            && line.cells.iter().all(|cell| {
                let filler = words(&cell.text).all(|word| {
                    matches!(
                        word.as_str(),
                        "no" | "nr"
                            | "number"
                            | "nummer"
                            | "range"
                            | "clp"
                            | "regulation"
                            | "verordnung"
                            | "règlement"
                            | "reglamento"
                            | "and"
                            | "und"
                            | "et"
                            | "y"
                            | "according"
                            | "to"
                            | "gemäß"
                            | "selon"
                            | "según"
                            | "gew"
                            | "w"
                    )
                });
                words(&cell.text).count() <= 6 && (filler || role_of(&cell.text).is_some())
            })
    };
    let found: Vec<usize> = (0..lines.len())
        .filter(|at| heads.get(*at) == Some(&true))
        .collect();
    for at in found {
        for place in [at.checked_sub(1), Some(at + 1), Some(at + 2)]
            .into_iter()
            .flatten()
        {
            let joined = place < at || heads.get(place - 1) == Some(&true);
            if joined
                && lines.get(place).is_some_and(carries)
                && let Some(head) = heads.get_mut(place)
            {
                *head = true;
            }
        }
    }
    heads
}

fn roles_of(lines: &[Line], heads: &[bool]) -> Vec<Option<Role>> {
    let mut texts: Vec<String> = Vec::new();
    let headings = lines
        .iter()
        .zip(heads)
        .filter(|(_, head)| **head)
        .map(|(line, _)| line);
    let mut seen = 0;
    for line in headings
        .filter(|line| line.cells.len() > 1 || line.cells.iter().any(|cell| cell.column.is_some()))
    {
        // The heading repeats on the next page; its words are the same.
        seen += 1;
        if seen > 4 {
            break;
        }
        for cell in &line.cells {
            let Some(column) = cell.column.filter(|column| *column < 200) else {
                continue;
            };
            if texts.len() <= column {
                texts.resize(column + 1, String::new());
            }
            if let Some(text) = texts.get_mut(column) {
                text.push(' ');
                text.push_str(&cell.text);
            }
        }
    }
    texts
        .iter()
        .map(|text| {
            let roles = roles_in(text);
            // A column headed by name and number holds both.
            if roles.contains(&Role::Name)
                && roles.contains(&Role::Ids)
                && !roles.contains(&Role::Class)
            {
                return Some(Role::Name);
            }
            match roles.first() {
                None if !text.trim().is_empty() => Some(Role::Other),
                role => role.copied(),
            }
        })
        .collect()
}

/// What a line holds, counted.
#[derive(Debug, Clone, Copy, Default)]
struct Marks {
    blank: bool,
    cas: usize,
    shares: usize,
    classes: usize,
    name: bool,
}

fn marks_of(body: &[Line], table: &Table, lexicon: &Lexicon) -> Vec<Marks> {
    let mut out: Vec<Marks> = Vec::with_capacity(body.len());
    let mut open: Option<&str> = None;
    let mut above: Option<&Line> = None;
    for line in body {
        let lone = match line.cells.as_slice() {
            [cell] if cell.column.is_none() => Some(cell.text.as_str()),
            _ => None,
        };
        // A class broken over two lines counts where it begins.
        if let (Some(head), Some(tail), Some(last)) = (open, lone, out.last_mut()) {
            let mut whole = line.clone();
            if let Some(cell) = whole.cells.first_mut() {
                cell.text = format!("{head} {tail}");
            }
            *last = marks(&whole, None, table, lexicon);
            out.push(Marks::default());
            open = None;
        } else {
            out.push(marks(line, above, table, lexicon));
            open = lone.filter(|text| lexicon.ends_open(text));
        }
        above = Some(line);
    }
    out
}

/// Whether a share's cell breaks off in the middle of a range.
fn breaks_off(text: &str) -> bool {
    text.trim_end().ends_with(['-', '<', '>', '=', '\u{7e}'])
}

fn marks(line: &Line, above: Option<&Line>, table: &Table, lexicon: &Lexicon) -> Marks {
    let mut marks = Marks {
        blank: line.cells.is_empty(),
        ..Marks::default()
    };
    for cell in &line.cells {
        let role = cell.label.or_else(|| table.role(cell.column));
        let carried = cell.column.is_some()
            && above.is_some_and(|above| {
                above
                    .cells
                    .iter()
                    .any(|other| other.column == cell.column && breaks_off(&other.text))
            });
        let (scrap, kinds) = tokens_of(&cell.text, table.shares(role), lexicon);
        for kind in kinds {
            match kind {
                Kind::Cas(_) => marks.cas += 1,
                Kind::Share(spotted) if spotted.share.is_some() && !carried => marks.shares += 1,
                Kind::Class(_) | Kind::Statement(_) | Kind::NotClassified => marks.classes += 1,
                _ => {}
            }
        }
        marks.name |= matches!(role, None | Some(Role::Name)) && is_name(&scrap.rest());
    }
    marks
}

/// A sentence about the table, or the number of a part of the section.
fn is_prose(line: &Line, lexicon: &Lexicon) -> bool {
    let [cell] = line.cells.as_slice() else {
        return line
            .cells
            .first()
            .is_some_and(|cell| is_part_number(&cell.text))
            && !has_data(line, lexicon);
    };
    if has_data(line, lexicon) {
        return false;
    }
    let speaks = words(&cell.text).any(|word| {
        matches!(
            word.as_str(),
            "section"
                | "abschnitt"
                | "rubrique"
                | "sección"
                | "see"
                | "siehe"
                | "voir"
                | "véase"
                | "wortlaut"
                | "hinweise"
                | "full"
                | "texte"
                | "texto"
                | "text"
                | "page"
                | "seite"
                | "página"
        )
    });
    is_part_number(&cell.text)
        || (speaks && words(&cell.text).count() >= 3)
        || (cell.text.ends_with(':') && role_of(&cell.text) != Some(Role::Ids))
}

/// `3.2 Mixtures`
fn is_part_number(text: &str) -> bool {
    let mut parts = text.splitn(2, ' ');
    let number = parts
        .next()
        .unwrap_or_default()
        .trim_end_matches(['.', ':']);
    matches!(number, "3.1" | "3.2" | "3.3") && parts.next().is_none_or(|rest| !rest.contains('%'))
}

/// Takes away a cell that only announces the next: `Concentration:`, `5 %`.
fn take_label_cells(line: &mut Line) {
    let mut kept: Vec<Cell> = Vec::new();
    let mut waiting: Option<Cell> = None;
    for mut cell in std::mem::take(&mut line.cells) {
        match waiting.take() {
            Some(label) if keeps_its_label(&label.text) => {
                cell.text = format!("{} {}", label.text, cell.text);
            }
            Some(label) => cell.label = role_of(&label.text),
            None => {}
        }
        let announces = cell.label.is_none()
            && cell.text.ends_with(':')
            && words(&cell.text).count() <= 5
            && !cell
                .text
                .contains(|sign: char| sign.is_ascii_digit() || sign == '\n')
            && role_of(&cell.text).is_some();
        if announces {
            waiting = Some(cell);
        } else {
            kept.push(cell);
        }
    }
    kept.extend(waiting);
    line.cells = kept;
}

/// A label that is part of what is read: `M-factor: 10`, `ATE: 500 mg/kg`.
fn keeps_its_label(label: &str) -> bool {
    words(label).any(|word| matches!(word.as_str(), "m" | "ate" | "eta"))
}

/// Takes `Concentration:` off `Concentration: 5 %` and remembers it.
fn take_label(cell: &mut Cell) {
    if cell.label.is_some() {
        return;
    }
    let Some((label, value)) = cell.text.split_once(':') else {
        return;
    };
    let plain = words(label).count() <= 5
        && !label.contains(|sign: char| sign.is_ascii_digit() || sign == '\n');
    if !plain || value.trim().is_empty() {
        return;
    }
    let Some(role) = role_of(label).filter(|role| *role != Role::Ids && !keeps_its_label(label))
    else {
        return;
    };
    cell.text = value.trim().to_owned();
    cell.label = Some(role);
}

/// A cell of a row with tabs may hold line breaks; then the next line goes on
/// in the column where the row broke off.
fn shift_wraps(body: &mut [Line], table: &Table, lexicon: &Lexicon) {
    let last = table.roles.len().saturating_sub(1);
    let mut reached: Option<usize> = None;
    for line in body {
        if line.tabs == 0 {
            reached = None;
            continue;
        }
        let fits = reached.filter(|reached| *reached < last && reached + line.tabs - 1 <= last);
        let whole = line
            .cells
            .first()
            .is_some_and(|cell| cell.column == Some(0))
            && line.cells.iter().any(|cell| {
                let role = table.role(cell.column);
                let (_, kinds) = tokens_of(&cell.text, table.shares(role), lexicon);
                kinds
                    .iter()
                    .any(|kind| matches!(kind, Kind::Cas(_) | Kind::Share(_)))
            });
        let leads = line
            .cells
            .first()
            .is_some_and(|cell| matches!(cell.column, None | Some(0)));
        match fits {
            Some(shift) if leads && !whole => {
                for cell in &mut line.cells {
                    cell.column = Some(cell.column.unwrap_or_default() + shift);
                }
                reached = Some(shift + line.tabs - 1);
            }
            _ => reached = Some(line.tabs - 1),
        }
    }
}

/// Whether left-over words may be the name of a substance.
pub(super) fn is_name(rest: &str) -> bool {
    const NOT_NAMES: &[&str] = &[
        "skin",
        "eye",
        "flam",
        "liq",
        "aquatic",
        "chronic",
        "acute",
        "tox",
        "sens",
        "irrit",
        "dam",
        "corr",
        "asp",
        "stot",
        "repr",
        "carc",
        "muta",
        "oral",
        "dermal",
        "inhalation",
        "note",
        "vapour",
        "vapours",
        "mist",
        "dust",
        "supplier",
        "self",
        "annex",
        "liver",
        "kidney",
        "none",
        "not",
        "available",
        "applicable",
        "see",
        "section",
        "page",
        "seite",
        "siehe",
        "abschnitt",
        "voir",
        "véase",
        "the",
        "for",
        "full",
        "text",
        "statements",
        "limits",
        "limit",
        "specific",
        "concentration",
        "factor",
        "hazard",
        "warning",
        "danger",
        "achtung",
        "gefahr",
        "wng",
        "dgr",
        "repeated",
        "exposure",
        "nervous",
        "system",
        "respiratory",
        "tract",
        "and",
        "value",
        "estimate",
        "toxicity",
    ];
    words(rest).any(|word| {
        let letters = word.chars().filter(|sign| sign.is_alphabetic()).count();
        letters >= 3 && !NOT_NAMES.contains(&word.as_str())
    })
}

/// How the start of a record is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    /// After an empty line.
    Blank,
    /// A CAS number, or a name and a share, stand on the line.
    Row,
    /// A CAS number stands on the line.
    Cas,
    /// A name, when what came before has a number, a share or a class.
    Name,
    /// A share stands on the line.
    Share,
}

fn cut(rule: Rule, lines: &[Line], marks: &[Marks]) -> Vec<usize> {
    let mut starts = Vec::new();
    let mut blank = true;
    let mut full = true;
    for (at, mark) in marks.iter().enumerate() {
        let begins = match rule {
            Rule::Blank => blank && !mark.blank && !(full && goes_on(lines, marks, at)),
            Rule::Row => mark.cas > 0 || (mark.name && mark.shares > 0),
            Rule::Cas => mark.cas > 0,
            Rule::Name => mark.name && full,
            Rule::Share => mark.shares > 0,
        };
        if begins {
            starts.push(at);
            full = false;
        }
        full |= mark.cas > 0 || mark.shares > 0 || mark.classes > 0;
        blank = mark.blank;
    }
    starts
}

/// Whether a block after a repeated heading only carries classes on.
fn goes_on(lines: &[Line], marks: &[Marks], at: usize) -> bool {
    let resumes = lines.get(at).is_some_and(|line| line.resumes);
    resumes
        && marks
            .iter()
            .skip(at)
            .take_while(|mark| !mark.blank)
            .all(|mark| mark.cas == 0 && mark.shares == 0 && !mark.name)
}

/// How much the records look like substances. `starts` is in order.
fn worth(starts: &[usize], marks: &[Marks]) -> i64 {
    let mut records: Vec<Marks> = Vec::new();
    let mut lost = 0;
    for (at, mark) in marks.iter().enumerate() {
        if starts.binary_search(&at).is_ok() {
            records.push(Marks::default());
        }
        match records.last_mut() {
            Some(record) => {
                record.cas += mark.cas;
                record.shares += mark.shares;
                record.classes += mark.classes;
                record.name |= mark.name;
            }
            None => {
                lost += i64::from(mark.cas > 0 || mark.shares > 0 || mark.classes > 0) * 2
                    + i64::from(mark.name);
            }
        }
    }
    let surplus = |count: usize| i64::try_from(count.saturating_sub(1)).unwrap_or(i64::MAX / 8);
    let sum: i64 = records
        .iter()
        .map(|record| {
            if record.cas == 0 && record.shares == 0 {
                return -1 - i64::from(record.classes > 0) * 2;
            }
            let whole = record.cas > 0 && record.shares > 0;
            let worth = if whole { 8 } else { 2 };
            worth + i64::from(record.classes > 0) + i64::from(record.name) * 2
                - 4 * surplus(record.cas)
                - 3 * surplus(record.shares)
        })
        .sum();
    sum - lost
}
