//! How many equal pieces a sheet or a roll gives, and what is left over.
//!
//! Every cut runs from edge to edge, as a knife and a ruler make it. Pieces
//! may lie either way. On a sheet the best pattern of such cuts is found
//! exactly while the ways to cut stay few; on a roll pieces stand in columns,
//! each with its own way to lie.

use std::collections::BTreeSet;

/// Ways to cut one side that are still tried all.
const MOST_CUTS: usize = 160;
/// Slack for figures that are whole but for rounding in binary, mm.
const HAIR: f64 = 1e-6;
/// Pieces that are still placed one by one.
const MOST_PIECES: u64 = 20_000;

/// One piece where it is cut out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Left edge.
    pub x_mm: f64,
    /// Top edge.
    pub y_mm: f64,
    /// Across, as it lies.
    pub width_mm: f64,
    /// Down, as it lies.
    pub height_mm: f64,
    /// Whether it lies on its side.
    pub is_turned: bool,
}

/// The pieces of one sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutting {
    /// Width of the sheet.
    pub width_mm: f64,
    /// Height of the sheet.
    pub height_mm: f64,
    /// Every piece where it is cut out; none of them when they are too many to
    /// be placed one by one.
    pub pieces: Vec<Piece>,
    /// Pieces when all lie as they are.
    pub n_upright: u64,
    /// Pieces when all lie on their side.
    pub n_turned: u64,
    piece_mm2: f64,
}

impl Cutting {
    /// How many pieces there are.
    pub fn n(&self) -> u64 {
        (self.pieces.len() as u64)
            .max(self.n_upright)
            .max(self.n_turned)
    }

    /// Share of the sheet that is left over, from 0 to 1.
    pub fn waste(&self) -> f64 {
        let used = self.n() as f64 * self.piece_mm2;
        let whole = self.width_mm * self.height_mm;
        if whole > 0.0 {
            (1.0 - used / whole).clamp(0.0, 1.0)
        } else {
            1.0
        }
    }
}

/// Pieces standing in columns along a roll.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roll {
    /// Columns of pieces as they are.
    pub n_upright: u32,
    /// Columns of pieces on their side.
    pub n_turned: u32,
    /// Pieces in a metre, averaged over a long roll.
    pub per_metre: f64,
    /// Share of the roll that is left over, from 0 to 1.
    pub waste: f64,
    upright_step_mm: f64,
    turned_step_mm: f64,
}

impl Roll {
    /// Pieces in a length of this roll.
    pub fn n_in(&self, length_mm: f64) -> u64 {
        times(length_mm, self.upright_step_mm) * u64::from(self.n_upright)
            + times(length_mm, self.turned_step_mm) * u64::from(self.n_turned)
    }

    /// The shortest length that gives `n` pieces, mm.
    pub fn length_for_mm(&self, n: u64) -> f64 {
        if n == 0 {
            return 0.0;
        }
        // The length is a whole number of steps of one column or the other;
        // the number of pieces grows with it, so halve between both ends.
        [
            (self.n_upright, self.upright_step_mm),
            (self.n_turned, self.turned_step_mm),
        ]
        .into_iter()
        .filter(|(columns, _)| *columns > 0)
        .map(|(_, step)| {
            let (mut low, mut high) = (1_u64, n);
            while low < high {
                let middle = low + (high - low) / 2;
                if self.n_in(middle as f64 * step) >= n {
                    high = middle;
                } else {
                    low = middle + 1;
                }
            }
            low as f64 * step
        })
        .fold(f64::INFINITY, f64::min)
    }
}

/// How often a step goes into a length.
fn times(length: f64, step: f64) -> u64 {
    let n = ((length + HAIR) / step).floor();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held to a range in which both are whole"
    )]
    if n.is_finite() && n > 0.0 {
        n.min(1e9) as u64
    } else {
        0
    }
}

/// The best columns on a roll of that width; none when no piece goes across.
pub fn nest_roll(roll_width_mm: f64, piece_width_mm: f64, piece_height_mm: f64) -> Option<Roll> {
    if !(roll_width_mm > 0.0 && piece_width_mm > 0.0 && piece_height_mm > 0.0) {
        return None;
    }
    let most = times(roll_width_mm, piece_width_mm).min(10_000);
    (0..=most)
        .filter_map(|upright| {
            let rest = roll_width_mm - upright as f64 * piece_width_mm;
            let turned = times(rest, piece_height_mm).min(10_000);
            let per_mm = upright as f64 / piece_height_mm + turned as f64 / piece_width_mm;
            (upright + turned > 0).then(|| Roll {
                n_upright: u32::try_from(upright).unwrap_or(u32::MAX),
                n_turned: u32::try_from(turned).unwrap_or(u32::MAX),
                per_metre: per_mm * 1000.0,
                waste: (1.0 - per_mm * piece_width_mm * piece_height_mm / roll_width_mm)
                    .clamp(0.0, 1.0),
                upright_step_mm: piece_height_mm,
                turned_step_mm: piece_width_mm,
            })
        })
        .reduce(|best, other| {
            if other.per_metre > best.per_metre + HAIR {
                other
            } else {
                best
            }
        })
}

/// The best pattern of pieces on a sheet.
///
/// # Example
///
/// ```
/// // 5 by 5 gives two pieces of 3 by 2 one way, two the other, and four when
/// // they are mixed; the pinwheel of four is no pattern of cuts from edge to
/// // edge, which give three here.
/// let cutting = label::nest::nest_sheet(5.0, 5.0, 3.0, 2.0);
/// assert_eq!(cutting.pieces.len(), 3);
/// ```
pub fn nest_sheet(
    width_mm: f64,
    height_mm: f64,
    piece_width_mm: f64,
    piece_height_mm: f64,
) -> Cutting {
    let mut cutting = Cutting {
        width_mm,
        height_mm,
        pieces: Vec::new(),
        n_upright: 0,
        n_turned: 0,
        piece_mm2: piece_width_mm * piece_height_mm,
    };
    let sizes = [width_mm, height_mm, piece_width_mm, piece_height_mm];
    if sizes
        .into_iter()
        .any(|side| !(side.is_finite() && side > 0.0))
    {
        return cutting;
    }
    // Whole thousandths, pieces rounded up and sheets down, so that nothing is
    // cut that is not there.
    let piece = (
        micrometres_up(piece_width_mm),
        micrometres_up(piece_height_mm),
    );
    let (width, height) = (micrometres_down(width_mm), micrometres_down(height_mm));
    cutting.n_upright = grid(width, height, piece.0, piece.1);
    cutting.n_turned = grid(width, height, piece.1, piece.0);
    if cutting.n_upright.max(cutting.n_turned) > MOST_PIECES {
        // So many small pieces that placing them one by one helps nobody.
        return cutting;
    }
    let xs = cuts(width, piece);
    let ys = cuts(height, piece);
    if let Some((xs, ys)) = xs.zip(ys) {
        Table::fill(xs, ys, piece).place(&mut cutting.pieces);
    } else {
        two_blocks(width, height, piece, &mut cutting.pieces);
    }
    cutting
}

/// Larger than any sheet, so that the conversion below cannot leave its range.
const MOST_UM: f64 = 1e12;

#[expect(
    clippy::cast_possible_truncation,
    reason = "held to a range in which both are whole"
)]
fn micrometres_up(mm: f64) -> i64 {
    ((mm * 1000.0 - HAIR).ceil().clamp(1.0, MOST_UM)) as i64
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "held to a range in which both are whole"
)]
fn micrometres_down(mm: f64) -> i64 {
    ((mm * 1000.0 + HAIR).floor().clamp(0.0, MOST_UM)) as i64
}

fn to_mm(micrometres: i64) -> f64 {
    micrometres as f64 / 1000.0
}

fn grid(width: i64, height: i64, across: i64, down: i64) -> u64 {
    let n = |room: i64, step: i64| u64::try_from(room / step.max(1)).unwrap_or(0);
    n(width, across) * n(height, down)
}

/// Every length up to `side` that whole pieces fill: only there is a cut worth
/// trying. None when they are too many.
fn cuts(side: i64, piece: (i64, i64)) -> Option<Vec<i64>> {
    let mut found = BTreeSet::new();
    for first in 0..=side / piece.0 {
        let rest = side - first * piece.0;
        for second in 0..=rest / piece.1 {
            found.insert(first * piece.0 + second * piece.1);
            if found.len() > MOST_CUTS {
                return None;
            }
        }
    }
    Some(found.into_iter().collect())
}

/// How a rectangle is best cut.
#[derive(Debug, Clone, Copy)]
enum Cut {
    /// Into nothing.
    None,
    /// It is one piece.
    Upright,
    /// It is one piece on its side.
    Turned,
    /// Downwards, at the width of that index.
    Down(usize),
    /// Across, at the height of that index.
    Across(usize),
}

/// The best count for every rectangle worth considering.
struct Table {
    xs: Vec<i64>,
    ys: Vec<i64>,
    piece: (i64, i64),
    best: Vec<(u32, Cut)>,
}

impl Table {
    fn fill(xs: Vec<i64>, ys: Vec<i64>, piece: (i64, i64)) -> Self {
        let mut table = Self {
            best: vec![(0, Cut::None); xs.len() * ys.len()],
            xs,
            ys,
            piece,
        };
        for i in 0..table.xs.len() {
            for j in 0..table.ys.len() {
                let found = table.choose(i, j);
                let at = table.at(i, j);
                if let Some(cell) = table.best.get_mut(at) {
                    *cell = found;
                }
            }
        }
        table
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * self.ys.len() + j
    }

    fn get(&self, i: usize, j: usize) -> (u32, Cut) {
        self.best
            .get(self.at(i, j))
            .copied()
            .unwrap_or((0, Cut::None))
    }

    /// The largest index of a length that fits into `room`.
    fn below(lengths: &[i64], room: i64) -> usize {
        lengths
            .partition_point(|length| *length <= room)
            .saturating_sub(1)
    }

    fn choose(&self, i: usize, j: usize) -> (u32, Cut) {
        let width = self.xs.get(i).copied().unwrap_or(0);
        let height = self.ys.get(j).copied().unwrap_or(0);
        let fits = |across: i64, down: i64| width >= across && height >= down;
        let mut best = if fits(self.piece.0, self.piece.1) {
            (1, Cut::Upright)
        } else if fits(self.piece.1, self.piece.0) {
            (1, Cut::Turned)
        } else {
            (0, Cut::None)
        };
        for cut in 1..i {
            let left = self.xs.get(cut).copied().unwrap_or(0);
            if left > width / 2 {
                break;
            }
            let rest = Self::below(&self.xs, width - left).min(i - 1);
            let n = self.get(cut, j).0 + self.get(rest, j).0;
            if n > best.0 {
                best = (n, Cut::Down(cut));
            }
        }
        for cut in 1..j {
            let top = self.ys.get(cut).copied().unwrap_or(0);
            if top > height / 2 {
                break;
            }
            let rest = Self::below(&self.ys, height - top).min(j - 1);
            let n = self.get(i, cut).0 + self.get(i, rest).0;
            if n > best.0 {
                best = (n, Cut::Across(cut));
            }
        }
        best
    }

    fn place(&self, pieces: &mut Vec<Piece>) {
        let last = |lengths: &[i64]| lengths.len().saturating_sub(1);
        let mut open = vec![(last(&self.xs), last(&self.ys), 0, 0)];
        while let Some((i, j, x, y)) = open.pop() {
            let (width, height) = (
                self.xs.get(i).copied().unwrap_or(0),
                self.ys.get(j).copied().unwrap_or(0),
            );
            match self.get(i, j).1 {
                Cut::None => {}
                Cut::Upright => pieces.push(Piece {
                    x_mm: to_mm(x),
                    y_mm: to_mm(y),
                    width_mm: to_mm(self.piece.0),
                    height_mm: to_mm(self.piece.1),
                    is_turned: false,
                }),
                Cut::Turned => pieces.push(Piece {
                    x_mm: to_mm(x),
                    y_mm: to_mm(y),
                    width_mm: to_mm(self.piece.1),
                    height_mm: to_mm(self.piece.0),
                    is_turned: true,
                }),
                Cut::Down(cut) => {
                    let left = self.xs.get(cut).copied().unwrap_or(width);
                    let rest = Self::below(&self.xs, width - left).min(i.saturating_sub(1));
                    open.push((rest, j, x + left, y));
                    open.push((cut, j, x, y));
                }
                Cut::Across(cut) => {
                    let top = self.ys.get(cut).copied().unwrap_or(height);
                    let rest = Self::below(&self.ys, height - top).min(j.saturating_sub(1));
                    open.push((i, rest, x, y + top));
                    open.push((i, cut, x, y));
                }
            }
        }
    }
}

/// A part of a sheet with pieces that all lie alike.
struct Block {
    x: i64,
    y: i64,
    width: i64,
    height: i64,
    is_turned: bool,
}

impl Block {
    /// A piece of this block across and down.
    const fn piece(&self, piece: (i64, i64)) -> (i64, i64) {
        if self.is_turned {
            (piece.1, piece.0)
        } else {
            piece
        }
    }

    fn count(&self, piece: (i64, i64)) -> u64 {
        let (across, down) = self.piece(piece);
        grid(self.width, self.height, across, down)
    }
}

/// One cut from edge to edge with pieces of one way on each side of it.
fn two_blocks(width: i64, height: i64, piece: (i64, i64), pieces: &mut Vec<Piece>) {
    let mut best: (u64, Option<[Block; 2]>) = (0, None);
    let mut offer = |blocks: [Block; 2]| {
        let n = blocks.iter().map(|block| block.count(piece)).sum();
        if n > best.0 {
            best = (n, Some(blocks));
        }
    };
    let block = |x, y, width, height, is_turned| Block {
        x,
        y,
        width,
        height,
        is_turned,
    };
    for turned in [false, true] {
        let (across, down) = if turned { (piece.1, piece.0) } else { piece };
        for columns in 0..=width / across {
            let left = columns * across;
            offer([
                block(0, 0, left, height, turned),
                block(left, 0, width - left, height, !turned),
            ]);
        }
        for rows in 0..=height / down {
            let top = rows * down;
            offer([
                block(0, 0, width, top, turned),
                block(0, top, width, height - top, !turned),
            ]);
        }
    }
    for block in best.1.into_iter().flatten() {
        let (across, down) = block.piece(piece);
        for row in 0..block.height / down {
            for column in 0..block.width / across {
                pieces.push(Piece {
                    x_mm: to_mm(block.x + column * across),
                    y_mm: to_mm(block.y + row * down),
                    width_mm: to_mm(across),
                    height_mm: to_mm(down),
                    is_turned: block.is_turned,
                });
            }
        }
    }
}
