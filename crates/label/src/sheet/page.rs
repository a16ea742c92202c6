//! Sizes of paper.

use measure::Unclear;

/// A size of page, upright.
///
/// # Source
///
/// ISO 216 for the A series; the American sizes are whole and half inches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PageSize {
    /// A0 halved so many times.
    A(u8),
    /// 8.5 by 11 in.
    Letter,
    /// 8.5 by 14 in.
    Legal,
    /// 11 by 17 in.
    Tabloid,
    /// 5.5 by 8.5 in.
    HalfLetter,
    /// 4 by 6 in, the page of a parcel label printer.
    FourBySix,
}

impl PageSize {
    /// The sizes labels and cards come on, the usual ones first.
    pub const ALL: [Self; 11] = [
        Self::A(4),
        Self::Letter,
        Self::A(5),
        Self::A(6),
        Self::HalfLetter,
        Self::FourBySix,
        Self::A(3),
        Self::A(7),
        Self::A(8),
        Self::Legal,
        Self::Tabloid,
    ];

    /// Its name.
    pub fn name(self) -> String {
        match self {
            Self::A(n) => format!("A{n}"),
            Self::Letter => "letter".to_owned(),
            Self::Legal => "legal".to_owned(),
            Self::Tabloid => "tabloid".to_owned(),
            Self::HalfLetter => "half letter".to_owned(),
            Self::FourBySix => "4 × 6 in".to_owned(),
        }
    }

    /// Width and height upright.
    ///
    /// A0 is 841 by 1189 mm; each next size is the one before, halved across
    /// its longer side and cut to the whole millimetre (ISO 216).
    pub fn size_mm(self) -> (f64, f64) {
        let inches = |width: f64, height: f64| (width * 25.4, height * 25.4);
        match self {
            Self::A(n) => {
                let (mut width, mut height) = (841_u32, 1189_u32);
                for _ in 0..n.min(10) {
                    (width, height) = (height / 2, width);
                }
                (f64::from(width), f64::from(height))
            }
            Self::Letter => inches(8.5, 11.0),
            Self::Legal => inches(8.5, 14.0),
            Self::Tabloid => inches(11.0, 17.0),
            Self::HalfLetter => inches(5.5, 8.5),
            Self::FourBySix => inches(4.0, 6.0),
        }
    }

    /// The size of that width and height, whichever way it lies.
    pub fn of_mm(width_mm: f64, height_mm: f64) -> Option<Self> {
        Self::ALL.into_iter().find(|size| {
            let (width, height) = size.size_mm();
            let same = |a: f64, b: f64| (a - b).abs() < 0.05;
            (same(width, width_mm) && same(height, height_mm))
                || (same(width, height_mm) && same(height, width_mm))
        })
    }

    /// Reads a name, with `landscape` behind it or not, as width and height.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a name that is not one of these sizes.
    pub fn read(text: &str) -> Result<(f64, f64), Unclear> {
        let plain: String = text
            .to_lowercase()
            .replace('×', "x")
            .chars()
            .filter(|c| c.is_alphanumeric())
            .collect();
        let (name, lies) = match plain.strip_suffix("landscape") {
            Some(name) => (name, true),
            None => (plain.strip_suffix("portrait").unwrap_or(&plain), false),
        };
        let size = match name {
            "letter" | "usletter" => Some(Self::Letter),
            "legal" => Some(Self::Legal),
            "tabloid" => Some(Self::Tabloid),
            "halfletter" => Some(Self::HalfLetter),
            "4x6" | "4x6in" => Some(Self::FourBySix),
            _ => name
                .strip_prefix('a')
                .and_then(|n| n.parse().ok())
                .filter(|n| *n <= 10)
                .map(Self::A),
        };
        let Some(size) = size else {
            return Err(Unclear::new(
                text,
                "that is not a size of page known here",
                "write A4, A5, letter, half letter or 4x6, or leave it empty and give both sides",
            ));
        };
        let (width, height) = size.size_mm();
        Ok(if lies {
            (height, width)
        } else {
            (width, height)
        })
    }
}
