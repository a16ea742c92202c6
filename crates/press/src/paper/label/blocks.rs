//! From a wording to blocks: what stands on which side, what may go first, and
//! how large each part is drawn.

use ::label::symbol::{X_LEAST_MM, X_NOMINAL_MM};
use ::label::wording::{Care, Language, NetWeight, Reach, Role, Wording};

use super::line::{Of, Ruler, Type};
use super::place::{Block, Figure, Para, Stand, TextKind};
use super::{Layout, LeftOut, Side, em_for, legible_em};
use crate::Pictogram;
use crate::paper::{Colour, Face};

/// The parts in the order they are given room when not all of them fit.
pub(super) const BY_WEIGHT: [Role; 15] = [
    Role::Name,
    Role::NetWeight,
    Role::Identity,
    Role::Maker,
    Role::Hazard,
    Role::Cautions,
    Role::FormulaIdentifier,
    Role::Lot,
    Role::Address,
    Role::Contact,
    Role::Allergens,
    Role::Barcode,
    Role::BestBy,
    Role::Qr,
    Role::Care,
];

const NAME: Type = Type::plain(Face::Serif);
const NAME_STRONG: Type = Type::plain(Face::SerifBold);
const MAKER: Type = Type {
    face: Face::Serif,
    spacing: 70,
    small_caps: true,
};
// 16 CFR 500.4 asks for bold type, from memory.
const IDENTITY: Type = Type::plain(Face::SansBold);
const NET: Type = Type::plain(Face::SansBold);
/// No rule asks for a bold weight statement.
const NET_LIGHT: Type = Type::plain(Face::Sans);
const BODY: Type = Type::plain(Face::Sans);
const STRONG: Type = Type::plain(Face::SansBold);

/// The ribbon reaches over and under the letters of the name, ems.
pub(super) const RIBBON_PAD: f64 = 0.26;

/// The mark that the packer vouches for the average system.
const E_MARK: &str = "\u{212e}";

/// Fewest sentences kept of cautions no standard names.
const FEWEST_CAUTIONS: usize = 3;

/// Control characters and line ends as spaces.
pub(super) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') {
                ' '
            } else {
                c
            }
        })
        .filter(|c| !matches!(c, '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}'))
        .collect::<String>()
        .trim()
        // A sign that stands apart never begins a line.
        .replace(" :", "\u{a0}:")
        .replace(" ;", "\u{a0};")
        .replace(" !", "\u{a0}!")
        .replace(" ?", "\u{a0}?")
        .replace(" ·", "\u{a0}·")
}

/// A weight with each figure held to its unit: `NET WT 2.5 OZ (70 g)` breaks
/// before a figure only.
fn held_to_units(text: &str) -> String {
    let mut held = String::with_capacity(text.len());
    let mut figure = false;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        if !held.is_empty() {
            let unit = word.starts_with(char::is_alphabetic);
            held.push(if figure && unit { '\u{a0}' } else { ' ' });
        }
        held.push_str(word);
        figure = word
            .trim_start_matches('(')
            .starts_with(|c: char| c.is_ascii_digit());
    }
    held
}

/// Empties a part.
fn drop_role(wording: &mut Wording, role: Role) {
    match role {
        Role::Maker => wording.maker.clear(),
        Role::Name => wording.name.clear(),
        Role::Identity => wording.identity.clear(),
        Role::NetWeight => wording.net_weight = None,
        Role::Cautions => wording.cautions.clear(),
        Role::Hazard => wording.hazard = None,
        Role::FormulaIdentifier => wording.formula_identifier = None,
        Role::Allergens => wording.allergens.clear(),
        Role::Address => wording.address.clear(),
        Role::Contact => wording.contact.clear(),
        Role::Lot => wording.lot = None,
        Role::BestBy => wording.best_by = None,
        Role::Care => wording.care.clear(),
        Role::Barcode => wording.gtin = None,
        Role::Qr => wording.qr = None,
    }
}

/// Fills a part from another wording.
pub(super) fn take(into: &mut Wording, from: &Wording, role: Role) {
    match role {
        Role::Maker => into.maker.clone_from(&from.maker),
        Role::Name => into.name.clone_from(&from.name),
        Role::Identity => into.identity.clone_from(&from.identity),
        Role::NetWeight => into.net_weight.clone_from(&from.net_weight),
        Role::Cautions => into.cautions.clone_from(&from.cautions),
        Role::Hazard => into.hazard.clone_from(&from.hazard),
        Role::FormulaIdentifier => into.formula_identifier.clone_from(&from.formula_identifier),
        Role::Allergens => into.allergens.clone_from(&from.allergens),
        Role::Address => into.address.clone_from(&from.address),
        Role::Contact => into.contact.clone_from(&from.contact),
        Role::Lot => into.lot.clone_from(&from.lot),
        Role::BestBy => into.best_by.clone_from(&from.best_by),
        Role::Care => into.care.clone_from(&from.care),
        Role::Barcode => into.gtin.clone_from(&from.gtin),
        Role::Qr => into.qr.clone_from(&from.qr),
    }
}

/// The languages and what is due, nothing else.
pub(super) fn without_all(wording: &Wording) -> Wording {
    Wording {
        languages: wording.languages.clone(),
        due: wording.due.clone(),
        ..Wording::default()
    }
}

/// What of a wording stands on a side.
pub(super) fn on_side(wording: &Wording, side: Side) -> Wording {
    let mut left = wording.clone();
    for role in Role::ALL {
        let here = match side {
            Side::Whole => true,
            Side::Front => role.is_front(),
            Side::Back => !role.is_front(),
        };
        if !here {
            drop_role(&mut left, role);
            left.due.retain(|due| due.role != role);
        }
    }
    left
}

/// The wording, then ever less of what no market asks for, with what is gone.
pub(super) fn ever_less(wording: &Wording) -> Vec<(Wording, Vec<LeftOut>)> {
    let mut all = vec![(wording.clone(), Vec::new())];
    let mut left = wording.clone();
    let mut gone: Vec<LeftOut> = Vec::new();
    for step in [
        Less::Without(Role::Care),
        Less::ShorterCautions,
        Less::Without(Role::Qr),
        Less::Without(Role::BestBy),
        Less::Without(Role::Barcode),
        Less::Without(Role::Contact),
        Less::Without(Role::Allergens),
        Less::Without(Role::Address),
        Less::Without(Role::Cautions),
        Less::Without(Role::Lot),
        Less::Without(Role::Maker),
    ] {
        let what = match step {
            Less::Without(role) => {
                if !left.has(role) || left.why_due(role).is_some() {
                    continue;
                }
                drop_role(&mut left, role);
                gone.retain(|one| one.role != role);
                LeftOut {
                    role,
                    what: "all of it".to_owned(),
                }
            }
            Less::ShorterCautions => {
                let cut = shorten_cautions(&mut left);
                if cut == 0 {
                    continue;
                }
                LeftOut {
                    role: Role::Cautions,
                    what: format!("the last {cut} sentences, which no standard names"),
                }
            }
        };
        gone.push(what);
        all.push((left.clone(), gone.clone()));
    }
    all
}

#[derive(Clone, Copy)]
enum Less {
    Without(Role),
    ShorterCautions,
}

/// Keeps what a standard names, or the first few; returns how many sentences
/// went, at most, in one language.
fn shorten_cautions(wording: &mut Wording) -> usize {
    let mut most = 0;
    for cautions in &mut wording.cautions {
        let before = cautions.lines.len();
        if cautions.lines.iter().any(|line| line.named_by_standard) {
            cautions.lines.retain(|line| line.named_by_standard);
        } else {
            cautions.lines.truncate(FEWEST_CAUTIONS);
        }
        most = most.max(before - cautions.lines.len());
    }
    most
}

/// Every text that is printed, with its part.
pub(super) fn texts(wording: &Wording) -> Vec<(Role, String)> {
    let mut all = Vec::new();
    let mut add = |role: Role, text: &str| {
        let text = clean(text);
        if !text.is_empty() {
            all.push((role, text));
        }
    };
    add(Role::Maker, &wording.maker);
    add(Role::Name, &wording.name);
    for one in &wording.identity {
        add(Role::Identity, &one.text);
    }
    if let Some(net) = &wording.net_weight {
        add(Role::NetWeight, &net.text);
    }
    for cautions in &wording.cautions {
        add(Role::Cautions, cautions.signal.unwrap_or(""));
        for line in &cautions.lines {
            add(Role::Cautions, &line.text);
        }
    }
    if let Some(hazard) = &wording.hazard {
        for text in &hazard.texts {
            add(Role::Hazard, text.signal.as_deref().unwrap_or(""));
            for one in text
                .substances
                .iter()
                .chain(&text.statements)
                .chain(&text.precautions)
                .chain(&text.supplemental)
            {
                add(Role::Hazard, one);
            }
        }
    }
    add(
        Role::FormulaIdentifier,
        wording.formula_identifier.as_deref().unwrap_or(""),
    );
    for (role, list) in [
        (Role::Allergens, &wording.allergens),
        (Role::Address, &wording.address),
        (Role::Contact, &wording.contact),
    ] {
        for one in list {
            add(role, one);
        }
    }
    add(Role::Lot, wording.lot.as_deref().unwrap_or(""));
    add(Role::BestBy, wording.best_by.as_deref().unwrap_or(""));
    all
}

/// The inks of a label.
#[derive(Debug, Clone, Copy)]
pub(super) struct Inks {
    pub(super) accent: Colour,
    /// Dark enough for white letters on it.
    pub(super) ribbon: Colour,
    pub(super) soft: Colour,
}

/// From small to large: 0 is the least a part may be, 1 as large as it is
/// wanted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Size(pub(super) f64);

impl Size {
    fn between(self, least: f64, wanted: f64) -> f64 {
        least + (wanted - least).max(0.0) * self.0
    }
}

/// The front: what stands above, and the net weight at the foot.
pub(super) struct Front {
    pub(super) maker: Vec<Block>,
    pub(super) name: Vec<Block>,
    /// The net weight, as large as it is wanted and as small as it may be.
    pub(super) nets: Vec<Net>,
}

/// The net weight and the room it needs around it.
pub(super) struct Net {
    pub(super) para: Para,
    pub(super) e_mark: Option<Para>,
    pub(super) clear_above: f64,
    pub(super) clear_sides: f64,
    pub(super) lowest_share: Option<f64>,
}

fn para(role: Role, text: &str, of: Type, em: f64, language: Language) -> Para {
    Para {
        role,
        text: clean(text).into(),
        of,
        em,
        leading: 1.25,
        stand: Stand::Left,
        language,
        colour: Colour::BLACK,
        ground: Colour::WHITE,
        balanced: false,
        heading: false,
        most_lines: usize::MAX,
        kind: TextKind::Plain,
        inset: 0.0,
        pad: 0.0,
    }
}

/// Builds the front for a room so wide and high.
pub(super) fn front(
    ruler: &Ruler<'_>,
    wording: &Wording,
    layout: Layout,
    inks: Inks,
    (width, height): (f64, f64),
    size: Size,
) -> Front {
    let lead = wording.lead();
    let stand = match layout {
        Layout::Ledger => Stand::Left,
        Layout::Plate | Layout::Ribbon => Stand::Centre,
    };
    let measure = height.min(width * 0.66);
    let name_of = match layout {
        Layout::Ledger => NAME,
        Layout::Plate | Layout::Ribbon => NAME_STRONG,
    };
    let name_share = match layout {
        Layout::Ledger => 0.27,
        Layout::Plate => 0.23,
        Layout::Ribbon => 0.21,
    };
    let name_em = size.between(
        em_for(ruler, name_of, 1.1),
        (measure * name_share).min(24.0),
    );
    let small = |of: Type, share: f64, most: f64| {
        let least = legible_em(ruler, of);
        (name_em * share).clamp(least, most.max(least))
    };
    let mut maker = Vec::new();
    if wording.has(Role::Maker) {
        let em = small(MAKER, 0.36, 4.4);
        maker.push(Block::Text(Para {
            stand,
            balanced: true,
            leading: 1.2,
            ..para(Role::Maker, &wording.maker, MAKER, em, lead)
        }));
    }
    let mut name = Vec::new();
    if wording.has(Role::Name) {
        let mut one = Para {
            stand,
            balanced: true,
            heading: true,
            leading: 1.12,
            ..para(Role::Name, &wording.name, name_of, name_em, lead)
        };
        if layout == Layout::Ribbon {
            one.colour = Colour::WHITE;
            one.ground = inks.ribbon;
            one.inset = name_em * 0.62;
            one.pad = name_em * RIBBON_PAD;
        }
        name.push(Block::Text(one));
        match layout {
            Layout::Ribbon => name.push(Block::Gap((name_em * 0.3).max(0.8))),
            Layout::Plate => {
                name.push(Block::Gap(name_em * 0.30));
                name.push(Block::Ornament {
                    width: (width * 0.34).min(name_em * 5.0),
                    height: (name_em * 0.2).clamp(0.7, 2.2),
                });
                name.push(Block::Gap(name_em * 0.30));
            }
            Layout::Ledger => name.push(Block::Gap(name_em * 0.34)),
        }
    }
    if wording.has(Role::Identity) {
        let text = wording
            .identity
            .iter()
            .map(|said| clean(&said.text).replace(' ', "\u{a0}"))
            .filter(|text| !text.is_empty())
            .collect::<Vec<_>>()
            .join("\u{a0}· ");
        let em = small(IDENTITY, 0.32, 4.2);
        let mut one = Para {
            stand,
            balanced: true,
            ..para(Role::Identity, &text, IDENTITY, em, lead)
        };
        // Words of one language hold together only where there is room.
        if ruler
            .lines(IDENTITY, em, &one.text, false, |_| Some(width))
            .is_none()
        {
            one.text = one.text.replace('\u{a0}', " ").into();
        }
        name.push(Block::Text(one));
    }
    let mut nets = Vec::new();
    if let Some(net) = &wording.net_weight
        && wording.has(Role::NetWeight)
    {
        let wanted = small(NET, 0.34, 4.8);
        let least = Size(0.0);
        for (of, size) in [(NET, size), (NET, least), (NET_LIGHT, least)] {
            nets.push(self::net(ruler, net, of, lead, stand, size, wanted));
        }
    }
    Front { maker, name, nets }
}

/// How high letters of a kind stand at an em of one.
pub(super) fn reach_height(ruler: &Ruler<'_>, face: Face, reach: Reach) -> f64 {
    let of = |of: Of| ruler.outline(face, of);
    match reach {
        Reach::Capital => of(Of::Capital).min(of(Of::Digit)),
        Reach::SmallO => of(Of::SmallO),
        Reach::Digit => of(Of::Digit),
        Reach::SmallLetter => of(Of::SmallX),
    }
}

/// Whether a rule about small letters has any to look at.
pub(super) fn asks(net: &NetWeight, reach: Reach) -> bool {
    reach != Reach::SmallLetter || net.text.chars().any(char::is_lowercase)
}

fn net(
    ruler: &Ruler<'_>,
    net: &NetWeight,
    of: Type,
    language: Language,
    stand: Stand,
    size: Size,
    wanted: f64,
) -> Net {
    let face = of.face;
    let least = net
        .heights
        .iter()
        .filter(|rule| asks(net, rule.reach) && rule.least_mm.is_finite())
        .map(|rule| rule.least_mm * 1.0005 / reach_height(ruler, face, rule.reach))
        .fold(legible_em(ruler, of), f64::max);
    let em = size.between(least, wanted);
    let para_of = Para {
        stand,
        kind: TextKind::Net,
        most_lines: 1,
        balanced: true,
        ..para(Role::NetWeight, &held_to_units(&net.text), of, em, language)
    };
    let e_mark = net.e_mark_mm.filter(|mm| mm.is_finite()).map(|mm| {
        let height = ruler.outline(face, Of::Mark);
        Para {
            kind: TextKind::EMark,
            ..para(
                Role::NetWeight,
                E_MARK,
                of,
                em.max(mm * 1.0005 / height),
                language,
            )
        }
    });
    let cap = ruler.outline(face, Of::Capital) * em;
    let n_width = ruler.outline(face, Of::WideN) * em;
    let placement = net.placement.as_ref();
    Net {
        clear_above: placement.map_or(0.6 * em, |rule| {
            (rule.clear_heights * cap * 1.01 + 0.02).max(0.5 * em)
        }),
        clear_sides: placement.map_or(em, |rule| rule.clear_n_widths * n_width * 1.01 + 0.02),
        lowest_share: placement.and_then(|rule| rule.lowest_share),
        para: para_of,
        e_mark,
    }
}

/// Builds the small print. `ideal_x` is the height of small letters wanted.
pub(super) fn small_print(
    ruler: &Ruler<'_>,
    wording: &Wording,
    layout: Layout,
    inks: Inks,
    round: bool,
    ideal_x: f64,
    size: Size,
) -> Vec<Block> {
    let mut print = Print {
        ruler,
        blocks: Vec::new(),
        stand: if round && layout != Layout::Ledger {
            Stand::Centre
        } else {
            Stand::Left
        },
        ruled: layout == Layout::Ledger,
        inks,
        body: size.between(legible_em(ruler, BODY), em_for(ruler, BODY, ideal_x)),
        size,
        ideal_x,
    };
    print.cautions(wording);
    print.hazard(wording);
    print.rest(wording, layout);
    if let Some(Block::Gap(_) | Block::Rule { .. }) = print.blocks.first() {
        print.blocks.remove(0);
    }
    print.blocks
}

struct Print<'r, 'f> {
    ruler: &'r Ruler<'f>,
    blocks: Vec<Block>,
    stand: Stand,
    ruled: bool,
    inks: Inks,
    /// The em of plain small print.
    body: f64,
    size: Size,
    ideal_x: f64,
}

impl Print<'_, '_> {
    /// Room before a part, with a hairline where the layout rules its page.
    fn part(&mut self) {
        if self.blocks.is_empty() {
            return;
        }
        let gap = self.body * self.size.between(0.55, 1.0);
        self.blocks
            .push(Block::Gap(if self.ruled { gap * 0.75 } else { gap }));
        if self.ruled {
            self.blocks.push(Block::Rule {
                width: 0.1,
                colour: self.inks.soft,
            });
            self.blocks.push(Block::Gap(gap * 0.75));
        }
    }

    fn text(&self, role: Role, text: &str, of: Type, em: f64, language: Language) -> Para {
        Para {
            stand: self.stand,
            ..para(role, text, of, em, language)
        }
    }

    fn cautions(&mut self, wording: &Wording) {
        let mut sign_stands = false;
        for cautions in wording.cautions.iter().filter(|one| !one.lines.is_empty()) {
            self.part();
            let fire = cautions.lines.iter().any(|line| line.named_by_standard);
            let least = cautions
                .least_x_height_hundredths
                .map_or(legible_em(self.ruler, BODY), |hundredths| {
                    em_for(self.ruler, BODY, f64::from(hundredths) / 100.0 * 1.0005)
                });
            let em = self.size.between(least, self.body.max(least));
            let text = cautions
                .lines
                .iter()
                .map(|line| clean(&line.text))
                .collect::<Vec<_>>()
                .join(" ");
            let mut one = self.text(Role::Cautions, &text, BODY, em, cautions.language);
            if fire {
                one.kind = TextKind::Fire;
            }
            let mut stack = Vec::new();
            let mut sign_mm = cautions.least_sign_mm.map_or(0.0, f64::from);
            if let Some(signal) = cautions.signal {
                let mut word =
                    self.text(Role::Cautions, signal, STRONG, em * 1.1, cautions.language);
                word.kind = TextKind::Fire;
                // The sign is not lower than the word.
                sign_mm = sign_mm.max(word.em * 1.25);
                stack.push(Block::Text(word));
                stack.push(Block::Keep);
                stack.push(Block::Gap(em * 0.35));
            }
            stack.push(Block::Text(one));
            let with_sign = cautions.sign && (cautions.signal.is_some() || !sign_stands);
            if with_sign {
                sign_stands = true;
                let sign = (sign_mm * 1.001).max(em * 1.6);
                self.blocks.push(Block::Beside {
                    role: Role::Cautions,
                    figures: vec![(Figure::Care(Care::Warning), sign * 1.155, sign)],
                    gap: em * 0.6,
                    stack,
                });
            } else {
                self.blocks.extend(stack);
            }
        }
    }

    fn hazard(&mut self, wording: &Wording) {
        let Some(hazard) = &wording.hazard else {
            return;
        };
        self.part();
        let sizes = &hazard.sizes;
        let least_x = sizes.x_height_mm.max(0.0) * 1.0005;
        let least = em_for(self.ruler, BODY, least_x).max(legible_em(self.ruler, BODY));
        let em = self
            .size
            .between(least, em_for(self.ruler, BODY, self.ideal_x));
        let leading = sizes.leading.clamp(1.2, 3.0);
        let side = self.size.between(
            sizes.pictogram_mm.clamp(1.0, 100.0),
            sizes.pictogram_wanted_mm.clamp(1.0, 100.0),
        ) * 1.0005;
        let figures: Vec<(Figure, f64, f64)> = hazard
            .pictograms
            .iter()
            .filter_map(|code| Pictogram::parse(code))
            .map(|one| {
                let wide = Pictogram::width_mm(side);
                (Figure::Pictogram(one.code().to_owned(), side), wide, wide)
            })
            .collect();
        let gap = em * 0.7;
        let mut first = true;
        for text in &hazard.texts {
            let mut stack = Vec::new();
            let mut push = |text: Para| {
                if text.text.is_empty() {
                    return;
                }
                if !stack.is_empty() {
                    stack.push(Block::Gap(text.em * 0.4));
                }
                stack.push(Block::Text(Para {
                    kind: TextKind::Hazard,
                    leading,
                    ..text
                }));
            };
            let language = text.language;
            let say = |text: &str, of: Type| self.text(Role::Hazard, text, of, em, language);
            if let Some(signal) = &text.signal {
                push(say(signal, STRONG));
            }
            if !text.substances.is_empty() {
                push(say(
                    &format!(
                        "{}{} {}.",
                        language.contains(),
                        language.colon(),
                        joined(&text.substances, ", ")
                    ),
                    BODY,
                ));
            }
            push(say(&joined(&text.statements, " "), STRONG));
            push(say(&joined(&text.precautions, " "), BODY));
            push(say(&joined(&text.supplemental, " "), BODY));
            if first && !figures.is_empty() {
                if hazard.texts.len() == 1 {
                    self.blocks.push(Block::Beside {
                        role: Role::Hazard,
                        figures: figures.clone(),
                        gap,
                        stack,
                    });
                    first = false;
                    continue;
                }
                self.blocks.push(Block::Figures {
                    role: Role::Hazard,
                    figures: figures.clone(),
                    gap,
                    stand: self.stand,
                });
                self.blocks.push(Block::Keep);
                self.blocks.push(Block::Gap(gap));
            } else if !first {
                self.blocks.push(Block::Gap(em * 0.8));
            }
            first = false;
            // The signal word stays with what it is said of.
            let signalled = text.signal.is_some();
            for (nth, block) in stack.into_iter().enumerate() {
                self.blocks.push(block);
                if nth == 0 && signalled {
                    self.blocks.push(Block::Keep);
                }
            }
        }
        if hazard.texts.is_empty() && !figures.is_empty() {
            self.blocks.push(Block::Figures {
                role: Role::Hazard,
                figures,
                gap,
                stand: self.stand,
            });
        }
    }

    fn rest(&mut self, wording: &Wording, layout: Layout) {
        let lead = wording.lead();
        let body = self.body;
        if wording.has(Role::Allergens) {
            self.part();
            let text = format!(
                "{}{} {}.",
                lead.contains(),
                lead.colon(),
                joined(&wording.allergens, ", ")
            );
            self.blocks.push(Block::Text(self.text(
                Role::Allergens,
                &text,
                BODY,
                body,
                lead,
            )));
        }
        if wording.has(Role::Care) {
            self.part();
            let side = self.size.between(5.0, 5.0 + self.ideal_x * 2.0);
            let figures = wording
                .care
                .iter()
                .map(|care| (Figure::Care(*care), side, side))
                .collect();
            self.blocks.push(Block::Figures {
                role: Role::Care,
                figures,
                gap: side * 0.22,
                stand: self.stand,
            });
        }
        self.maker_of_it(wording, lead, body);
        self.codes(wording, lead, body, layout);
        self.squares(wording);
    }

    fn maker_of_it(&mut self, wording: &Wording, lead: Language, body: f64) {
        let mut began = false;
        for (role, text) in [
            (Role::Address, joined(&held(&wording.address), ", ")),
            (Role::Contact, joined(&held(&wording.contact), "\u{a0}· ")),
        ] {
            if wording.has(role) && !text.is_empty() {
                if began {
                    self.blocks.push(Block::Keep);
                    self.blocks.push(Block::Gap(body * 0.3));
                } else {
                    self.part();
                    began = true;
                }
                self.blocks
                    .push(Block::Text(self.text(role, &text, BODY, body, lead)));
            }
        }
    }

    fn codes(&mut self, wording: &Wording, lead: Language, body: f64, layout: Layout) {
        let mut pairs = Vec::new();
        for (role, key, value) in [
            (Role::Lot, lead.lot(), &wording.lot),
            (Role::BestBy, lead.best_by(), &wording.best_by),
            (Role::FormulaIdentifier, "UFI:", &wording.formula_identifier),
        ] {
            if wording.has(role) {
                // A code is not torn apart at its hyphens.
                let value = value
                    .as_deref()
                    .map(|value| clean(value).replace('-', "\u{2011}"))
                    .unwrap_or_default();
                pairs.push((role, key, value));
            }
        }
        if pairs.is_empty() {
            return;
        }
        self.part();
        for (nth, (role, key, value)) in pairs.into_iter().enumerate() {
            if nth > 0 {
                self.blocks.push(Block::Keep);
                self.blocks.push(Block::Gap(body * 0.3));
            }
            if layout == Layout::Ledger && self.stand == Stand::Left {
                self.blocks.push(Block::Pair {
                    key: self.text(role, key, BODY, body, lead),
                    value: self.text(role, &value, STRONG, body, lead),
                });
            } else {
                // The key and its value stay on one line where they can.
                let text = format!("{key}\u{a0}{value}");
                self.blocks
                    .push(Block::Text(self.text(role, &text, STRONG, body, lead)));
            }
        }
    }

    fn squares(&mut self, wording: &Wording) {
        let mut figures = Vec::new();
        if let Some(digits) = wording.gtin.as_deref().map(clean)
            && wording.has(Role::Barcode)
        {
            let module = self.size.between(X_LEAST_MM, X_NOMINAL_MM);
            if let Some((width, height)) = super::draw::bars_size(&digits, module) {
                figures.push((Figure::Bars(digits, module), width, height));
            }
        }
        if let Some(text) = wording.qr.as_deref().map(clean)
            && wording.has(Role::Qr)
        {
            let module = self.size.between(0.3, 0.42);
            if let Some(side) = self.ruler.square_size(&text, module) {
                figures.push((Figure::Square(text, module), side, side));
            }
        }
        if !figures.is_empty() {
            self.part();
            self.blocks.push(Block::Figures {
                role: Role::Barcode,
                figures,
                gap: 2.0,
                stand: self.stand,
            });
        }
    }
}

/// Short parts whole: a postcode or a number is not torn apart.
fn held(parts: &[String]) -> Vec<String> {
    parts
        .iter()
        .map(|part| {
            let part = clean(part);
            if part.chars().count() <= 24 {
                part.replace(' ', "\u{a0}")
            } else {
                part
            }
        })
        .collect()
}

fn joined(parts: &[String], by: &str) -> String {
    parts
        .iter()
        .map(|part| clean(part))
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(by)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_breaks_before_a_figure_only() {
        let held = held_to_units("6 BARS, 1 OZ (28 g) EACH, NET WT 6 OZ (170 g)");
        let words: Vec<&str> = held.split(' ').collect();
        assert_eq!(
            words,
            [
                "6\u{a0}BARS,",
                "1\u{a0}OZ",
                "(28\u{a0}g)",
                "EACH,",
                "NET",
                "WT",
                "6\u{a0}OZ",
                "(170\u{a0}g)"
            ]
        );
    }

    #[test]
    fn a_text_keeps_its_signs_and_loses_what_does_not_print() {
        assert_eq!(clean("  a\u{ad}b\tc\u{2028}d <i>&amp; "), "ab c d <i>&amp;");
        assert_eq!(clean("PEAU : laver"), "PEAU\u{a0}: laver");
    }
}
