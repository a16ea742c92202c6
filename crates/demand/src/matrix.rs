//! Symmetric positive definite systems, small enough to be kept whole.

/// A square matrix of which the lower triangle counts.
#[derive(Debug, Clone)]
pub(crate) struct Square {
    n: usize,
    /// Row after row.
    cells: Vec<f64>,
}

impl Square {
    pub(crate) fn zero(n: usize) -> Self {
        Self {
            n,
            cells: vec![0.0; n * n],
        }
    }

    pub(crate) fn n(&self) -> usize {
        self.n
    }

    pub(crate) fn clear(&mut self) {
        self.cells.fill(0.0);
    }

    pub(crate) fn at(&self, row: usize, column: usize) -> f64 {
        self.cells[row * self.n + column]
    }

    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        self.cells[row * self.n + column] += value;
    }

    fn row(&self, row: usize) -> &[f64] {
        &self.cells[row * self.n..(row + 1) * self.n]
    }

    /// Replaces the lower triangle by L with L Lᵀ = the matrix; false when it
    /// is not positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        let n = self.n;
        for i in 0..n {
            let (above, rest) = self.cells.split_at_mut(i * n);
            let own = &mut rest[..n];
            for j in 0..i {
                let other = &above[j * n..=j * n + j];
                let sum: f64 = own[..j].iter().zip(other).map(|(a, b)| a * b).sum();
                own[j] = (own[j] - sum) / other[j];
            }
            let square = own[i] - own[..i].iter().map(|a| a * a).sum::<f64>();
            // A pivot that is all rounding says as much as none.
            if !square.is_finite() || square <= own[i].abs() * 1e-13 {
                return false;
            }
            own[i] = square.sqrt();
        }
        true
    }

    /// With L from [`Self::factor`]: half the logarithm of the determinant.
    pub(crate) fn half_ln_det(&self) -> f64 {
        (0..self.n).map(|i| libm::log(self.at(i, i))).sum()
    }

    /// With L: solves L x = v in place.
    pub(crate) fn forward(&self, v: &mut [f64]) {
        for i in 0..self.n {
            let row = self.row(i);
            let sum: f64 = row[..i].iter().zip(&v[..i]).map(|(a, b)| a * b).sum();
            v[i] = (v[i] - sum) / row[i];
        }
    }

    /// With L: solves Lᵀ x = v in place.
    pub(crate) fn backward(&self, v: &mut [f64]) {
        for i in (0..self.n).rev() {
            let row = self.row(i);
            let x = v[i] / row[i];
            v[i] = x;
            for (below, l) in v[..i].iter_mut().zip(row) {
                *below -= l * x;
            }
        }
    }

    /// With L: the diagonal of the inverse.
    pub(crate) fn inverse_diagonal(&self) -> Vec<f64> {
        (0..self.n)
            .map(|i| {
                let mut unit = vec![0.0; self.n];
                unit[i] = 1.0;
                self.forward(&mut unit);
                unit.iter().map(|v| v * v).sum()
            })
            .collect()
    }

    /// With L: L v, for a vector of independent draws.
    pub(crate) fn times(&self, v: &[f64]) -> Vec<f64> {
        (0..self.n)
            .map(|i| self.row(i)[..=i].iter().zip(v).map(|(a, b)| a * b).sum())
            .collect()
    }
}
