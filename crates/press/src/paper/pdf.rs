//! A document as PDF: tagged (PDF/UA-1), archival (PDF/A-2a), fonts embedded,
//! the same bytes for the same input.

use krilla::SerializeSettings;
use krilla::color::{luma, rgb};
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Paint as Ink, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, SpanTag, TableHeaderScope, Tag as Role,
    TagGroup, TagKind, TagTree,
};
use krilla::text::{GlyphId, KrillaGlyph};
use kurbo::{Affine, BezPath, PathEl, Rect};

use super::drawing::{Colour, Drawing, Item, Paint, Pen, Structure, Tag};
use super::text::Set;
use super::{Document, PaperError};

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// What a PDF page may measure at most, in millimetres (ISO 32000-1, annex C: 14,400 units).
const LARGEST_MM: f64 = 14_400.0 / POINTS;

impl Document {
    /// Writes the document as PDF.
    ///
    /// # Errors
    ///
    /// [`PaperError`] when there is no title, no page, a character no face can
    /// draw, a length that is none, or something the standards of the file
    /// refuse.
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        self.sound()?;
        if self.title.trim().is_empty() {
            return Err(PaperError::Untitled);
        }
        let configuration = ConfigurationBuilder::new()
            .with_archival_validator(Archival::A2_A)
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(|error| PaperError::Refused(format!("{error:?}")))?;
        let mut file = krilla::Document::new_with(SerializeSettings {
            no_device_cs: true,
            configuration,
            enable_tagging: true,
            ..SerializeSettings::default()
        });
        let mut writer = Writer {
            language: &self.language,
            page_idx: 0,
            headings: Vec::new(),
            furniture_open: false,
        };
        let mut root = Branch::new(Kind::Root);
        for (page_idx, drawing) in self.pages.iter().enumerate() {
            writer.page_idx = page_idx;
            let settings =
                PageSettings::from_wh(points(drawing.width_mm), points(drawing.height_mm))
                    .ok_or(PaperError::Length { page: page_idx + 1 })?;
            let mut page = file.start_page_with(settings);
            let mut surface = page.surface();
            writer.draw(
                &mut surface,
                drawing,
                Affine::IDENTITY,
                &mut root,
                Reading::Aloud,
            );
            writer.close(&mut surface);
            surface.finish();
            page.finish();
        }
        file.set_outline(self.outline(&writer.headings));
        let made = self.made;
        file.set_metadata(
            Metadata::new()
                .title(self.title.clone())
                .language(self.language.clone())
                .creator("Pourwright".to_owned())
                .producer("Pourwright".to_owned())
                .creation_date(
                    DateTime::new(made.year)
                        .month(made.month)
                        .day(made.day)
                        .hour(0)
                        .minute(0)
                        .second(0)
                        .utc_offset_hour(0)
                        .utc_offset_minute(0),
                ),
        );
        let mut tree = TagTree::new().with_lang(Some(self.language.clone()));
        for twig in root.twigs {
            match twig {
                Twig::Branch(branch) => tree.push(branch.into_group()),
                Twig::Leaf(leaf) => tree.push(leaf),
            }
        }
        file.set_tag_tree(tree);
        file.finish()
            .map_err(|error| PaperError::Refused(refusal(&error)))
    }

    fn outline(&self, headings: &[Heading]) -> Outline {
        let mut outline = Outline::new();
        if headings.is_empty() {
            outline.push_child(OutlineNode::new(
                self.title.clone(),
                XyzDestination::new(0, Point::from_xy(0.0, 0.0)),
            ));
            return outline;
        }
        let mut rest = headings;
        while !rest.is_empty() {
            let (node, after) = node_of(rest);
            outline.push_child(node);
            rest = after;
        }
        outline
    }
}

/// The first heading with those below it, and the headings after.
fn node_of(headings: &[Heading]) -> (OutlineNode, &[Heading]) {
    let first = &headings[0];
    let mut node = OutlineNode::new(
        first.text.clone(),
        XyzDestination::new(first.page_idx, first.place),
    );
    let mut rest = &headings[1..];
    while rest.first().is_some_and(|next| next.level > first.level) {
        let (child, after) = node_of(rest);
        node.push_child(child);
        rest = after;
    }
    (node, rest)
}

fn refusal(error: &krilla::error::KrillaError) -> String {
    match error {
        krilla::error::KrillaError::Validation(errors) => errors
            .iter()
            .map(|(error, _)| format!("{error:?}"))
            .collect::<Vec<_>>()
            .join("; "),
        other => other.to_string(),
    }
}

struct Heading {
    level: u16,
    text: String,
    page_idx: usize,
    place: Point,
}

/// What a part of the tag tree is.
#[derive(PartialEq)]
enum Kind {
    Root,
    Group,
    /// What it shows in words, its page and where it stands there.
    Figure(String, usize, Rect),
    Table(u32),
    Row,
    HeadCell,
    Cell,
    Text {
        tag: Tag,
        title: String,
        language: Option<String>,
    },
}

struct Branch {
    kind: Kind,
    twigs: Vec<Twig>,
}

enum Twig {
    Branch(Branch),
    Leaf(Identifier),
}

impl Branch {
    fn new(kind: Kind) -> Self {
        Self {
            kind,
            twigs: Vec::new(),
        }
    }

    /// Takes in a branch; the parts of one table grow together. An empty one falls off.
    fn grow(&mut self, branch: Branch) {
        if branch.twigs.is_empty() {
            return;
        }
        if let (Kind::Table(_), Some(Twig::Branch(last))) = (&branch.kind, self.twigs.last_mut())
            && last.kind == branch.kind
        {
            last.twigs.extend(branch.twigs);
            return;
        }
        self.twigs.push(Twig::Branch(branch));
    }

    fn into_group(self) -> TagGroup {
        let mut group = TagGroup::new(self.kind.role());
        for twig in self.twigs {
            match twig {
                Twig::Branch(branch) => group.push(branch.into_group()),
                Twig::Leaf(leaf) => group.push(leaf),
            }
        }
        group
    }
}

impl Kind {
    fn role(self) -> TagKind {
        match self {
            Self::Root | Self::Group => Role::Div.into(),
            Self::Figure(alt, page_idx, place) => Role::Figure(Some(alt))
                .with_bbox(
                    krilla::geom::Rect::from_ltrb(
                        points(place.x0),
                        points(place.y0),
                        points(place.x1),
                        points(place.y1),
                    )
                    .map(|place| BBox::new(page_idx, place)),
                )
                .into(),
            Self::Table(_) => Role::Table.into(),
            Self::Row => Role::TR.into(),
            Self::HeadCell => Role::TH(TableHeaderScope::Column).into(),
            Self::Cell => Role::TD.into(),
            Self::Text {
                tag,
                title,
                language,
            } => match tag.level() {
                Some(level) => Role::Hn(level, Some(title)).with_lang(language).into(),
                None if tag == Tag::Caption => Role::Caption.with_lang(language).into(),
                None => Role::P.with_lang(language).into(),
            },
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Reading {
    /// Texts are read, shapes are not.
    Aloud,
    /// Inside something already said to be one thing.
    Inside,
}

struct Writer<'a> {
    language: &'a str,
    page_idx: usize,
    headings: Vec<Heading>,
    /// Whether shapes drawn just now lie in an open stretch that is not read.
    furniture_open: bool,
}

impl Writer<'_> {
    fn draw(
        &mut self,
        surface: &mut Surface<'_>,
        drawing: &Drawing,
        to: Affine,
        into: &mut Branch,
        reading: Reading,
    ) {
        for item in &drawing.items {
            match item {
                Item::Text {
                    x_mm,
                    y_mm,
                    set,
                    tag,
                } => {
                    let to = to * Affine::translate((*x_mm, *y_mm));
                    self.text(surface, set, *tag, to, into, reading);
                }
                Item::Shape {
                    path,
                    even_odd,
                    paint,
                } => {
                    if reading == Reading::Aloud {
                        self.open(surface);
                    }
                    shape(surface, path, *even_odd, *paint, to);
                }
                Item::Part {
                    affine,
                    drawing,
                    structure,
                    clip,
                } => {
                    let to = to * *affine;
                    let inside = clip.as_ref().and_then(|clip| path_of(clip, to));
                    if inside.is_some() || structure.is_some() {
                        self.close(surface);
                    }
                    if let Some(inside) = &inside {
                        surface.push_clip_path(inside, &FillRule::NonZero);
                    }
                    self.part(surface, drawing, structure.as_ref(), to, into, reading);
                    if inside.is_some() {
                        self.close(surface);
                        surface.pop();
                    }
                }
            }
        }
    }

    /// Draws what is not read aloud, such as a page's foot or a picture that
    /// nothing is said of.
    fn draw_furniture(
        &mut self,
        surface: &mut Surface<'_>,
        drawing: &Drawing,
        to: Affine,
        into: &mut Branch,
    ) {
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
            ArtifactType::PaginationOther,
        )));
        self.draw(surface, drawing, to, into, Reading::Inside);
        surface.end_tagged();
    }

    fn part(
        &mut self,
        surface: &mut Surface<'_>,
        drawing: &Drawing,
        structure: Option<&Structure>,
        to: Affine,
        into: &mut Branch,
        reading: Reading,
    ) {
        let (Some(structure), Reading::Aloud) = (structure, reading) else {
            self.draw(surface, drawing, to, into, reading);
            return;
        };
        let kind = match structure {
            Structure::Furniture => {
                self.draw_furniture(surface, drawing, to, into);
                return;
            }
            Structure::Figure(alt) if alt.trim().is_empty() => {
                self.draw_furniture(surface, drawing, to, into);
                return;
            }
            Structure::Figure(alt) => {
                let place = to.transform_rect_bbox(Rect::new(
                    0.0,
                    0.0,
                    drawing.width_mm,
                    drawing.height_mm,
                ));
                let mut figure = Branch::new(Kind::Figure(alt.clone(), self.page_idx, place));
                let leaf = surface.start_tagged(ContentTag::Other);
                self.draw(surface, drawing, to, &mut figure, Reading::Inside);
                surface.end_tagged();
                figure.twigs.push(Twig::Leaf(leaf));
                into.grow(figure);
                return;
            }
            Structure::Group => Kind::Group,
            Structure::Table(number) => Kind::Table(*number),
            Structure::HeadRow | Structure::Row => Kind::Row,
            Structure::HeadCell => Kind::HeadCell,
            Structure::Cell => Kind::Cell,
        };
        let cell = matches!(kind, Kind::HeadCell | Kind::Cell);
        let mut branch = Branch::new(kind);
        self.draw(surface, drawing, to, &mut branch, reading);
        self.close(surface);
        if cell && branch.twigs.is_empty() {
            // A cell stays a cell with nothing in it, so that the columns are counted right.
            let leaf = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            surface.end_tagged();
            branch.twigs.push(Twig::Leaf(leaf));
        }
        into.grow(branch);
    }

    fn text(
        &mut self,
        surface: &mut Surface<'_>,
        set: &Set,
        tag: Tag,
        to: Affine,
        into: &mut Branch,
        reading: Reading,
    ) {
        if reading == Reading::Inside {
            for idx in 0..set.lines().len() {
                glyphs(surface, set, idx, to);
            }
            return;
        }
        self.close(surface);
        if tag == Tag::Furniture {
            surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
                ArtifactType::PaginationOther,
            )));
            for idx in 0..set.lines().len() {
                glyphs(surface, set, idx, to);
            }
            surface.end_tagged();
            return;
        }
        let language = set.style().language;
        let mut branch = Branch::new(Kind::Text {
            tag,
            title: set.text().to_owned(),
            language: (language != self.language).then(|| language.to_owned()),
        });
        for (idx, line) in set.lines().iter().enumerate() {
            if line.runs.is_empty() {
                continue;
            }
            let leaf = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            glyphs(surface, set, idx, to);
            surface.end_tagged();
            branch.twigs.push(Twig::Leaf(leaf));
        }
        if let (Some(level), false) = (tag.level(), branch.twigs.is_empty()) {
            let place = to * kurbo::Point::ZERO;
            self.headings.push(Heading {
                level: level.get(),
                text: set.text().replace('\n', " "),
                page_idx: self.page_idx,
                place: Point::from_xy(points(place.x), points(place.y)),
            });
        }
        into.grow(branch);
    }

    fn open(&mut self, surface: &mut Surface<'_>) {
        if !self.furniture_open {
            surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
                ArtifactType::Layout,
            )));
            self.furniture_open = true;
        }
    }

    fn close(&mut self, surface: &mut Surface<'_>) {
        if self.furniture_open {
            surface.end_tagged();
            self.furniture_open = false;
        }
    }
}

fn glyphs(surface: &mut Surface<'_>, set: &Set, line_idx: usize, to: Affine) {
    let line = &set.lines[line_idx];
    let coefficients = to.as_coeffs();
    let upright = to == Affine::translate(to.translation());
    let to_first = if upright {
        to.translation()
    } else {
        let [xx, yx, xy, yy, x, y] = coefficients;
        surface.push_transform(&Transform::from_row(
            single(xx),
            single(yx),
            single(xy),
            single(yy),
            points(x),
            points(y),
        ));
        kurbo::Vec2::ZERO
    };
    surface.set_stroke(None);
    surface.set_fill(Some(Fill {
        paint: ink(set.style.colour),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }));
    let size = set.style.size_mm;
    for run in &line.runs {
        let row: Vec<KrillaGlyph> = run
            .glyphs
            .iter()
            .map(|glyph| {
                KrillaGlyph::new(
                    GlyphId::new(glyph.id),
                    single(glyph.advance_mm / size),
                    single(glyph.dx_mm / size),
                    single(glyph.dy_mm / size),
                    0.0,
                    glyph.range.clone(),
                    None,
                )
            })
            .collect();
        surface.draw_glyphs(
            Point::from_xy(
                points(to_first.x + run.x_mm),
                points(to_first.y + line.baseline_mm),
            ),
            &row,
            set.fonts.pdf(run.face),
            &set.text,
            points(size),
            false,
        );
    }
    if !upright {
        surface.pop();
    }
}

fn shape(surface: &mut Surface<'_>, path: &BezPath, even_odd: bool, paint: Paint, to: Affine) {
    let Some(drawn) = path_of(path, to) else {
        return;
    };
    surface.set_fill(paint.fill.map(|colour| Fill {
        paint: ink(colour),
        opacity: NormalizedF32::ONE,
        rule: if even_odd {
            FillRule::EvenOdd
        } else {
            FillRule::NonZero
        },
    }));
    surface.set_stroke(paint.pen.map(|pen| stroke(pen, to)));
    surface.draw_path(&drawn);
}

fn stroke(pen: Pen, to: Affine) -> Stroke {
    let scale = to.determinant().abs().sqrt();
    Stroke {
        paint: ink(pen.colour),
        width: points(pen.width_mm * scale),
        miter_limit: 10.0,
        line_cap: if pen.round {
            LineCap::Round
        } else {
            LineCap::Butt
        },
        line_join: if pen.round {
            LineJoin::Round
        } else {
            LineJoin::Miter
        },
        opacity: NormalizedF32::ONE,
        dash: pen.dash_mm.map(|(dash, gap)| StrokeDash {
            array: vec![points(dash * scale), points(gap * scale)],
            offset: 0.0,
        }),
    }
}

fn path_of(path: &BezPath, to: Affine) -> Option<krilla::geom::Path> {
    let mut builder = PathBuilder::new();
    for element in path.elements() {
        let element = to * *element;
        let at = |point: kurbo::Point| (points(point.x), points(point.y));
        match element {
            PathEl::MoveTo(end) => {
                let (x, y) = at(end);
                builder.move_to(x, y);
            }
            PathEl::LineTo(end) => {
                let (x, y) = at(end);
                builder.line_to(x, y);
            }
            PathEl::QuadTo(pull, end) => {
                let ((pull_x, pull_y), (x, y)) = (at(pull), at(end));
                builder.quad_to(pull_x, pull_y, x, y);
            }
            PathEl::CurveTo(first, second, end) => {
                let ((x1, y1), (x2, y2)) = (at(first), at(second));
                let (x, y) = at(end);
                builder.cubic_to(x1, y1, x2, y2, x, y);
            }
            PathEl::ClosePath => builder.close(),
        }
    }
    builder.finish()
}

/// Greys as grey, so that black text is printed with black ink alone.
fn ink(colour: Colour) -> Ink {
    let [red, green, blue] = colour.rgb;
    if red == green && green == blue {
        luma::Color::new(red).into()
    } else {
        rgb::Color::new(red, green, blue).into()
    }
}

/// Whether a page of this size can be written.
pub(super) fn fits_a_page(drawing: &Drawing) -> bool {
    [drawing.width_mm, drawing.height_mm]
        .iter()
        .all(|side| side.is_finite() && *side >= 1.0 && *side <= LARGEST_MM)
}

fn points(mm: f64) -> f32 {
    single(mm * POINTS)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a PDF holds single precision"
)]
fn single(number: f64) -> f32 {
    number as f32
}
