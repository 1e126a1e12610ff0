//! The shade stage: what stands on the roof as a horizon round each panel.

/// Tangent of the elevation below which some cell is shaded, one per degree of azimuth from the coach's nose.
#[derive(Clone, Debug, PartialEq)]
pub struct Horizon(Box<[f32; 360]>);

impl Horizon {
    /// Nothing stands anywhere.
    #[must_use]
    pub fn open() -> Self {
        Self(Box::new([0.0; 360]))
    }

    /// Whether the sun's disc is seen, for a bearing from the nose in degrees and the tangent of its elevation.
    #[must_use]
    pub fn sees(&self, bearing_deg: f64, tangent: f64) -> bool {
        let degree = bearing_deg.rem_euclid(360.0) as usize % 360;
        tangent >= f64::from(self.0[degree])
    }

    /// Share of an evenly bright sky that a level panel sees: the mean of the squared cosine of the elevation.
    #[must_use]
    pub fn sky_share(&self) -> f64 {
        self.0.iter().map(|t| 1.0 / (1.0 + f64::from(*t).powi(2))).sum::<f64>() / 360.0
    }
}
