//! The faces and what is measured on them.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use kurbo::{Affine, BezPath, Rect, Shape as _};
use parley::fontique::{Blob, Collection, CollectionOptions, FontInfoOverride, SourceCache};
use parley::fontique::{FontStyle, FontWeight, FontWidth};
use parley::{FontContext, LayoutContext};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, GlyphId, MetadataProvider as _};

const SERIF_TTF: &[u8] = include_bytes!("../../fonts/SourceSerif4-Regular.ttf");
const SERIF_BOLD_TTF: &[u8] = include_bytes!("../../fonts/SourceSerif4-SemiBold.ttf");
const SERIF_ITALIC_TTF: &[u8] = include_bytes!("../../fonts/SourceSerif4-Italic.ttf");

/// A face of the house: a sans for what must be read small, a serif for names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Face {
    /// Upright sans.
    #[default]
    Sans,
    /// Bold sans.
    SansBold,
    /// Italic sans.
    SansItalic,
    /// Bold italic sans.
    SansBoldItalic,
    /// Upright serif.
    Serif,
    /// Semibold serif.
    SerifBold,
    /// Italic serif.
    SerifItalic,
}

impl Face {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Sans,
        Self::SansBold,
        Self::SansItalic,
        Self::SansBoldItalic,
        Self::Serif,
        Self::SerifBold,
        Self::SerifItalic,
    ];

    /// The font file this face is drawn from.
    pub fn bytes(self) -> &'static [u8] {
        match self {
            Self::Sans => notosans::REGULAR_TTF,
            Self::SansBold => notosans::BOLD_TTF,
            Self::SansItalic => notosans::ITALIC_TTF,
            Self::SansBoldItalic => notosans::BOLD_ITALIC_TTF,
            Self::Serif => SERIF_TTF,
            Self::SerifBold => SERIF_BOLD_TTF,
            Self::SerifItalic => SERIF_ITALIC_TTF,
        }
    }

    /// The faces tried for a character, this one first.
    pub(crate) fn chain(self) -> [Self; 3] {
        match self {
            Self::Sans => [Self::Sans, Self::Serif, Self::SansBold],
            Self::SansBold => [Self::SansBold, Self::SerifBold, Self::Sans],
            Self::SansItalic => [Self::SansItalic, Self::SerifItalic, Self::Sans],
            Self::SansBoldItalic => [Self::SansBoldItalic, Self::SerifBold, Self::SansBold],
            Self::Serif => [Self::Serif, Self::Sans, Self::SerifBold],
            Self::SerifBold => [Self::SerifBold, Self::SansBold, Self::Serif],
            Self::SerifItalic => [Self::SerifItalic, Self::SansItalic, Self::Serif],
        }
    }

    /// The name the shaper knows the face by; each is a family of one, so that
    /// no weight or slope is ever guessed.
    pub(crate) fn family(self) -> &'static str {
        match self {
            Self::Sans => "sans",
            Self::SansBold => "sans bold",
            Self::SansItalic => "sans italic",
            Self::SansBoldItalic => "sans bold italic",
            Self::Serif => "serif",
            Self::SerifBold => "serif bold",
            Self::SerifItalic => "serif italic",
        }
    }

    fn idx(self) -> usize {
        self as usize
    }
}

/// The faces, loaded once; cheap to clone.
#[derive(Clone)]
pub struct Fonts(Arc<Loaded>);

struct Loaded {
    faces: Vec<Loose>,
    /// Which face a blob of the shaper is.
    by_blob: BTreeMap<u64, Face>,
    shaper: Mutex<Shaper>,
    outlines: Mutex<BTreeMap<(Face, u32), Arc<Outline>>>,
}

/// A glyph at an em of one, y down, baseline at zero.
pub(crate) struct Outline {
    pub(crate) path: BezPath,
    /// Its box; none for a space.
    pub(crate) bounds: Option<Rect>,
}

struct Loose {
    font: FontRef<'static>,
    pdf: krilla::text::Font,
    per_em: f64,
}

/// What the shaper keeps between texts.
pub(crate) struct Shaper {
    pub(crate) fonts: FontContext,
    pub(crate) layouts: LayoutContext<()>,
}

impl std::fmt::Debug for Fonts {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "Fonts({} faces)", self.0.faces.len())
    }
}

impl Default for Fonts {
    fn default() -> Self {
        Self::new()
    }
}

impl Fonts {
    /// The faces of the house, read at the first call.
    pub fn new() -> Self {
        static LOADED: OnceLock<Fonts> = OnceLock::new();
        LOADED.get_or_init(Self::load).clone()
    }

    fn load() -> Self {
        let mut collection = Collection::new(CollectionOptions {
            shared: false,
            system_fonts: false,
        });
        let mut by_blob = BTreeMap::new();
        let mut faces = Vec::new();
        for face in Face::ALL {
            let blob = Blob::new(Arc::new(face.bytes()));
            by_blob.insert(blob.id(), face);
            collection.register_fonts(
                blob,
                Some(FontInfoOverride {
                    family_name: Some(face.family()),
                    width: Some(FontWidth::NORMAL),
                    style: Some(FontStyle::Normal),
                    weight: Some(FontWeight::NORMAL),
                    axes: None,
                }),
            );
            let font = FontRef::new(face.bytes()).expect("the faces in the binary are fonts");
            let per_em = font
                .metrics(Size::unscaled(), LocationRef::default())
                .units_per_em;
            let pdf = krilla::text::Font::new(face.bytes().into(), 0)
                .expect("the faces in the binary are fonts");
            faces.push(Loose {
                font,
                pdf,
                per_em: f64::from(per_em),
            });
        }
        Self(Arc::new(Loaded {
            faces,
            by_blob,
            shaper: Mutex::new(Shaper {
                fonts: FontContext {
                    collection,
                    source_cache: SourceCache::default(),
                },
                layouts: LayoutContext::new(),
            }),
            outlines: Mutex::new(BTreeMap::new()),
        }))
    }

    /// How high a lower-case x stands at an em of `size_mm`, in millimetres.
    pub fn x_height(&self, face: Face, size_mm: f64) -> f64 {
        self.height_of(face, 'x', size_mm)
    }

    /// How high a capital H stands at an em of `size_mm`, in millimetres.
    pub fn cap_height(&self, face: Face, size_mm: f64) -> f64 {
        self.height_of(face, 'H', size_mm)
    }

    /// How high the lowest digit stands at an em of `size_mm`, in millimetres.
    pub fn digit_height(&self, face: Face, size_mm: f64) -> f64 {
        ('0'..='9')
            .map(|digit| self.height_of(face, digit, size_mm))
            .fold(f64::INFINITY, f64::min)
    }

    /// The em at which a lower-case x stands `x_height_mm` high.
    pub fn size_for_x_height(&self, face: Face, x_height_mm: f64) -> f64 {
        x_height_mm / self.x_height(face, 1.0)
    }

    /// The em at which a capital H stands `cap_height_mm` high.
    pub fn size_for_cap_height(&self, face: Face, cap_height_mm: f64) -> f64 {
        cap_height_mm / self.cap_height(face, 1.0)
    }

    /// The em at which every digit stands at least `digit_height_mm` high.
    pub fn size_for_digit_height(&self, face: Face, digit_height_mm: f64) -> f64 {
        digit_height_mm / self.digit_height(face, 1.0)
    }

    /// How high the outline of one character stands over the baseline.
    pub fn height_of(&self, face: Face, character: char, size_mm: f64) -> f64 {
        self.bounds(face, character)
            .map_or(0.0, |bounds| -bounds.y0 * size_mm)
    }

    /// The box of a character's outline at an em of one, y down, baseline at zero.
    pub fn bounds(&self, face: Face, character: char) -> Option<Rect> {
        let glyph = self.0.faces[face.idx()].font.charmap().map(character)?;
        self.outline(face, glyph.to_u32()).bounds
    }

    /// The characters of a text that no face can draw, each once, in order.
    ///
    /// Breaks and joints between lines and words are not characters to draw.
    pub fn missing(&self, text: &str) -> Vec<char> {
        let mut missing = Vec::new();
        for character in super::text::drawable(text).chars() {
            if character != '\n' && !missing.contains(&character) && !self.has(character) {
                missing.push(character);
            }
        }
        missing
    }

    fn has(&self, character: char) -> bool {
        [Face::Sans, Face::Serif].into_iter().any(|face| {
            self.0.faces[face.idx()]
                .font
                .charmap()
                .map(character)
                .is_some_and(|glyph| glyph.to_u32() != 0)
        })
    }

    /// A glyph's outline.
    pub(crate) fn outline(&self, face: Face, glyph: u32) -> Arc<Outline> {
        let mut outlines = self
            .0
            .outlines
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        outlines
            .entry((face, glyph))
            .or_insert_with(|| {
                let path = self.draw(face, glyph);
                let bounds = (!path.is_empty()).then(|| path.bounding_box());
                Arc::new(Outline { path, bounds })
            })
            .clone()
    }

    fn draw(&self, face: Face, glyph: u32) -> BezPath {
        let loose = &self.0.faces[face.idx()];
        let mut pen = Pen(BezPath::new());
        if let Some(outline) = loose.font.outline_glyphs().get(GlyphId::new(glyph)) {
            let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
            if outline.draw(settings, &mut pen).is_err() {
                return BezPath::new();
            }
        }
        let scale = 1.0 / loose.per_em;
        Affine::scale_non_uniform(scale, -scale) * pen.0
    }

    pub(crate) fn pdf(&self, face: Face) -> krilla::text::Font {
        self.0.faces[face.idx()].pdf.clone()
    }

    pub(crate) fn face_of(&self, blob: u64) -> Option<Face> {
        self.0.by_blob.get(&blob).copied()
    }

    pub(crate) fn shaper(&self) -> std::sync::MutexGuard<'_, Shaper> {
        self.0.shaper.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

struct Pen(BezPath);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.0
            .quad_to((f64::from(cx), f64::from(cy)), (f64::from(x), f64::from(y)));
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.0.curve_to(
            (f64::from(ax), f64::from(ay)),
            (f64::from(bx), f64::from(by)),
            (f64::from(x), f64::from(y)),
        );
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}
