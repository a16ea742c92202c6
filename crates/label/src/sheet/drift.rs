//! What a printer does to where things land.

use measure::{Checker, Length, Problem, Problems, Typed};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::MOST_PAGE_MM;
use crate::ruler::{Ruler, mm, show};

/// How far the crosses of the calibration page stand from its edges, mm.
pub const CALIBRATION_INSET_MM: f64 = 20.0;
/// A printer that shifts by more than this is told wrong, mm.
///
/// Common practice, no source.
const MOST_SHIFT_MM: f64 = 15.0;
/// A page that comes out smaller or larger than this by measure is told wrong.
const MOST_SCALE: f64 = 0.1;
/// From this share on it is not the paper but a setting of the printer.
///
/// Common practice, no source.
const FITTED: f64 = 0.01;

/// Where a printer puts what was meant elsewhere: landed = shift + scale × meant.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Drift {
    /// Shift to the right.
    pub dx_mm: f64,
    /// Shift down.
    pub dy_mm: f64,
    /// Stretch across.
    pub scale_x: f64,
    /// Stretch down.
    pub scale_y: f64,
}

/// A calibration page as it was measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calibration {
    /// Width of the page.
    pub page_width: Typed<Length>,
    /// Height of the page.
    pub page_height: Typed<Length>,
    /// Left edge of the paper to the left crosses.
    pub left: Typed<Length>,
    /// Left edge of the paper to the right crosses.
    pub right: Typed<Length>,
    /// Top edge of the paper to the upper crosses.
    pub top: Typed<Length>,
    /// Top edge of the paper to the lower crosses.
    pub bottom: Typed<Length>,
}

impl Calibration {
    /// What the printer does.
    ///
    /// # Errors
    ///
    /// Every field that cannot have been measured.
    pub fn drift(&self) -> Result<Drift, Problems> {
        let mut check = Checker::default();
        let near_far = |near: &Typed<Length>, far: &Typed<Length>| (Some(mm(near)), Some(mm(far)));
        let (left, right) = near_far(&self.left, &self.right);
        let (top, bottom) = near_far(&self.top, &self.bottom);
        let width = mm(&self.page_width);
        let height = mm(&self.page_height);
        let (dx_mm, scale_x) = along(width, ("left", left), ("right", right), &mut check);
        let (dy_mm, scale_y) = along(height, ("top", top), ("bottom", bottom), &mut check);
        check.finish()?;
        Ok(Drift {
            dx_mm,
            dy_mm,
            scale_x,
            scale_y,
        })
    }
}

/// What was measured on a printed calibration page, as texts.
///
/// The page bears a cross near each corner, 20 mm from the edges. Measured
/// are the distances from the paper's left edge to the crosses at the left
/// and the right, and from its top edge to those at the top and the bottom.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriftInput {
    /// Left edge of the paper to the left crosses.
    #[serde(default)]
    pub left: Option<String>,
    /// Left edge of the paper to the right crosses.
    #[serde(default)]
    pub right: Option<String>,
    /// Top edge of the paper to the upper crosses.
    #[serde(default)]
    pub top: Option<String>,
    /// Top edge of the paper to the lower crosses.
    #[serde(default)]
    pub bottom: Option<String>,
}

impl Drift {
    /// A printer that prints true.
    pub const NONE: Self = Self {
        dx_mm: 0.0,
        dy_mm: 0.0,
        scale_x: 1.0,
        scale_y: 1.0,
    };

    /// Where something is to be drawn so that it lands at (x, y).
    pub fn aim(&self, x_mm: f64, y_mm: f64) -> (f64, f64) {
        (
            (x_mm - self.dx_mm) / self.scale_x,
            (y_mm - self.dy_mm) / self.scale_y,
        )
    }

    /// Where something drawn at (x, y) lands.
    pub fn lands(&self, x_mm: f64, y_mm: f64) -> (f64, f64) {
        (
            self.dx_mm + self.scale_x * x_mm,
            self.dy_mm + self.scale_y * y_mm,
        )
    }

    /// What a stretch of more than a hundredth means, in words.
    pub fn remark(&self) -> Option<String> {
        let off = [self.scale_x, self.scale_y]
            .into_iter()
            .map(|scale| scale - 1.0)
            .max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
        (off.abs() >= FITTED).then(|| {
            format!(
                "The page came out {} % too {}. Turn off “fit to page” or “scale to fit” in the printer's window, print the page again and measure again.",
                measure::figure(off.abs() * 100.0, 1),
                if off < 0.0 { "small" } else { "large" }
            )
        })
    }
}

impl DriftInput {
    /// Reads what was measured and checks that it can have been.
    ///
    /// # Errors
    ///
    /// Every field that cannot be read or cannot have been measured.
    pub fn read(
        &self,
        page_width: &Typed<Length>,
        page_height: &Typed<Length>,
        ruler: Ruler,
    ) -> Result<(Calibration, Drift), Problems> {
        let mut check = Checker::default();
        let mut one = |field: &str, text: &Option<String>| {
            ruler.required(&mut check, field, text.as_deref(), 0.0, MOST_PAGE_MM)
        };
        let left = one("left", &self.left);
        let right = one("right", &self.right);
        let top = one("top", &self.top);
        let bottom = one("bottom", &self.bottom);
        let ((Some(left), Some(right)), (Some(top), Some(bottom))) = ((left, right), (top, bottom))
        else {
            return Err(check.into_problems());
        };
        let measured = Calibration {
            page_width: page_width.clone(),
            page_height: page_height.clone(),
            left,
            right,
            top,
            bottom,
        };
        let drift = measured.drift()?;
        Ok((measured, drift))
    }
}

/// Shift and stretch along one side of the page.
fn along(
    page_mm: f64,
    near: (&str, Option<f64>),
    far: (&str, Option<f64>),
    check: &mut Checker,
) -> (f64, f64) {
    let (Some(near_mm), Some(far_mm)) = (near.1, far.1) else {
        return (0.0, 1.0);
    };
    let meant_near = CALIBRATION_INSET_MM;
    let meant_far = page_mm - CALIBRATION_INSET_MM;
    let apart = meant_far - meant_near;
    let scale = if apart > 0.0 {
        (far_mm - near_mm) / apart
    } else {
        f64::NAN
    };
    if !((1.0 - MOST_SCALE)..=(1.0 + MOST_SCALE)).contains(&scale) {
        check.refuse(Problem::new(
            far.0,
            show(far_mm),
            format!(
                "the crosses would be {} apart, and were drawn {} apart",
                show(far_mm - near_mm),
                show(apart)
            ),
            format!(
                "measure from the same edge both times: about {} here",
                show(meant_far)
            ),
        ));
        return (0.0, 1.0);
    }
    let shift = near_mm - scale * meant_near;
    if shift.abs() > MOST_SHIFT_MM {
        check.refuse(Problem::new(
            near.0,
            show(near_mm),
            format!("the cross was drawn {} from the edge", show(meant_near)),
            "measure from the edge of the paper to the middle of the cross",
        ));
    }
    (shift, scale)
}
