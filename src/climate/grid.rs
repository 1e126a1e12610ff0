//! The embedded climate grid: one-degree cells of land, monthly sun and temperature.
//!
//! Every row of cells is a deflate stream of its own, inflated when first asked for: a look-up touches two.

use std::sync::OnceLock;

use super::year::MonthlyMeans;
use crate::packed::inflate;

static FILE: &[u8] = include_bytes!("data/climate_grid.bin");
const ROWS: usize = 135;
const COLUMNS: usize = 360;
/// Bytes of a row's land mask.
const MASK: usize = COLUMNS / 8;

static INFLATED: [OnceLock<Vec<u8>>; ROWS] = [const { OnceLock::new() }; ROWS];

/// Cooling with height, K/m, by which temperatures are moved to the elevation of the site.
///
/// Source: mean near-surface lapse of monthly temperature, 4.5 K/km; between the 4 and 6.5 K/km of published
/// near-surface rates (Minder, Mote & Lundquist 2010, J. Geophys. Res. 115:D14122).
pub const LAPSE_K_PER_M: f64 = 0.0045;

/// Smallest share of land that a cell is weighted with, so that a coast always finds its cells.
const LEAST_LAND: f64 = 0.03;

/// The climate of one site: long-term monthly means, January first.
///
/// Source: sun NASA SSE Release 6.0 (1983-2005); mean temperature ERA5 (2016-2025); daily range and extreme minimum
/// modelled (rmse 2-2.7 K). See `data/SOURCE.md`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climate {
    /// Global horizontal irradiation, kWh/m2 a day, with [`winter_factor`] applied.
    pub ghi_kwh_m2_day: [f64; 12],
    /// Mean temperature of day and night, C.
    pub mean_c: [f64; 12],
    /// Mean daily minimum, C.
    pub min_c: [f64; 12],
    /// Mean daily maximum, C.
    pub max_c: [f64; 12],
    /// Mean of the years' lowest temperatures, C. A margin belongs on it: see [`COLD_MARGIN_K`].
    pub extreme_min_c: f64,
    /// Elevation that the temperatures stand for, m.
    pub elevation_m: f64,
}

/// What to take off `extreme_min_c` for a cold open-circuit voltage where the coldest temperature is not known, K.
///
/// Source: rmse 2-2.7 K of the modelled extreme minimum against station values, rounded up.
pub const COLD_MARGIN_K: f64 = 3.0;

impl Climate {
    /// Monthly means to make a typical year of, with the given wind at 10 m.
    #[must_use]
    pub fn means(&self, wind_m_s: [f64; 12]) -> MonthlyMeans {
        let range = std::array::from_fn(|m| self.max_c[m] - self.min_c[m]);
        MonthlyMeans { ghi_kwh_m2_day: self.ghi_kwh_m2_day, mean_c: self.mean_c, daily_range_k: Some(range), wind_m_s }
    }
}

/// Factor on the source's sun for a month (1..=12): the satellite figures overstate winter sun above 35 degrees.
///
/// Source: fitted on half of 85 TMY3 stations (NREL); on the other half it takes the November-January bias above
/// 40 degrees from +8.7 % to +1.0 %.
#[must_use]
pub fn winter_factor(lat_deg: f64, month: usize) -> f64 {
    let northern = if lat_deg >= 0.0 { month } else { (month + 5) % 12 + 1 };
    let weight = match northern {
        1 => 0.12,
        2 => 0.06,
        3 => 0.03,
        10 => 0.04,
        11 => 0.09,
        12 => 0.13,
        _ => 0.0,
    };
    let ramp = ((lat_deg.abs() - 35.0) / 15.0).clamp(0.0, 1.0);
    1.0 / (1.0 + 1.15 * ramp * weight)
}

/// The climate at a site, between the four cells around it; `None` at sea, beyond 60 S and 75 N, and for numbers
/// that are no position. Without an elevation the mean of the land around is taken.
#[must_use]
pub fn look(lat_deg: f64, lon_deg: f64, elevation_m: Option<f64>) -> Option<Climate> {
    if !lat_deg.is_finite() || !lon_deg.is_finite() || lat_deg.abs() > 90.0 {
        return None;
    }
    let (y, x) = (lat_deg - 0.5, lon_deg.rem_euclid(360.0) - 0.5);
    let (south, west) = (y.floor(), x.floor());
    let (north_share, east_share) = (y - south, x - west);
    // Row 0 is centred on 74.5 N, column 0 on 179.5 W.
    let (row, column) = (74 - south as i64, (west as i64 + 180).rem_euclid(360) as usize);
    let around = [
        (row, column, (1.0 - north_share) * (1.0 - east_share)),
        (row, column + 1, (1.0 - north_share) * east_share),
        (row - 1, column, north_share * (1.0 - east_share)),
        (row - 1, column + 1, north_share * east_share),
    ];
    let mut near = Near::default();
    for (row, column, weight) in around {
        if weight > 0.0
            && let Ok(row) = usize::try_from(row)
            && let Some(cell) = cell(row, column % COLUMNS)
        {
            near.add(cell, weight);
        }
    }
    near.climate(lat_deg, elevation_m.filter(|e| e.is_finite()))
}

/// One cell as stored.
#[derive(Clone, Copy, Default)]
struct Cell {
    ghi: [f64; 12],
    mean: [f64; 12],
    range: [f64; 12],
    extreme: f64,
    elevation: f64,
    land: f64,
}

/// The cells around a site with their weights, plain and by land.
#[derive(Default)]
struct Near {
    cells: Vec<(Cell, f64, f64)>,
}

impl Near {
    fn add(&mut self, cell: Cell, weight: f64) {
        self.cells.push((cell, weight, weight * cell.land.max(LEAST_LAND)));
    }

    fn climate(&self, lat_deg: f64, elevation_m: Option<f64>) -> Option<Climate> {
        let plain: f64 = self.cells.iter().map(|(_, w, _)| w).sum();
        let land: f64 = self.cells.iter().map(|(_, _, w)| w).sum();
        if plain <= 0.0 || land <= 0.0 {
            return None;
        }
        let by_land = |of: &dyn Fn(&Cell) -> f64| self.cells.iter().map(|(c, _, w)| of(c) * w).sum::<f64>() / land;
        let elevation_m = elevation_m.unwrap_or_else(|| by_land(&|c| c.elevation));
        let temperature = |of: &dyn Fn(&Cell) -> f64| by_land(&|c| of(c) + LAPSE_K_PER_M * (c.elevation - elevation_m));
        let sun = |m: usize| self.cells.iter().map(|(c, w, _)| c.ghi[m] * w).sum::<f64>() / plain;
        Some(Climate {
            ghi_kwh_m2_day: std::array::from_fn(|m| sun(m) * winter_factor(lat_deg, m + 1)),
            mean_c: std::array::from_fn(|m| temperature(&|c| c.mean[m])),
            min_c: std::array::from_fn(|m| temperature(&|c| c.mean[m] - c.range[m] / 2.0)),
            max_c: std::array::from_fn(|m| temperature(&|c| c.mean[m] + c.range[m] / 2.0)),
            extreme_min_c: temperature(&|c| c.extreme),
            elevation_m,
        })
    }
}

/// The inflated stream of a row; empty where the row has no land.
fn row_bytes(row: usize) -> Option<&'static [u8]> {
    let length = |r: usize| FILE.get(2 * r..2 * r + 2).map_or(0, |b| usize::from(b[0]) | usize::from(b[1]) << 8);
    let bytes = INFLATED.get(row)?.get_or_init(|| {
        let start = 2 * ROWS + (0..row).map(length).sum::<usize>();
        FILE.get(start..start + length(row)).map(inflate).unwrap_or_default()
    });
    (bytes.len() > MASK).then_some(bytes)
}

fn cell(row: usize, column: usize) -> Option<Cell> {
    let bytes = row_bytes(row)?;
    let (mask, planes) = bytes.split_at_checked(MASK)?;
    let (byte, bit) = (column / 8, column % 8);
    let here = *mask.get(byte)?;
    if here << bit & 0x80 == 0 {
        return None;
    }
    let ones = |bytes: &[u8]| bytes.iter().map(|b| b.count_ones() as usize).sum::<usize>();
    let before_in_byte = (u16::from(here) >> (8 - bit)).count_ones() as usize;
    let mut reader = Reader { planes, cells: ones(mask), index: ones(mask.get(..byte)?) + before_in_byte };
    let mut cell = Cell::default();
    let mut value = 0;
    for ghi in &mut cell.ghi {
        value += reader.wide();
        *ghi = f64::from(value) / 100.0;
    }
    value = 0;
    for mean in &mut cell.mean {
        value += reader.wide();
        *mean = f64::from(value) / 10.0;
    }
    let mut narrow = 0_u8;
    for range in &mut cell.range {
        narrow = narrow.wrapping_add(reader.narrow());
        *range = f64::from(narrow) / 10.0;
    }
    cell.extreme = f64::from(reader.wide()) / 10.0;
    cell.elevation = f64::from(reader.wide());
    cell.land = f64::from(reader.narrow()) / 100.0;
    Some(cell)
}

/// Takes one cell's value out of plane after plane; each holds the steps from cell to cell along the row.
struct Reader<'a> {
    planes: &'a [u8],
    cells: usize,
    index: usize,
}

impl<'a> Reader<'a> {
    fn next(&mut self) -> &'a [u8] {
        let (plane, rest) = self.planes.split_at_checked(self.cells).unwrap_or_default();
        self.planes = rest;
        plane.get(..=self.index).unwrap_or_default()
    }

    /// A plane of steps modulo 256.
    fn narrow(&mut self) -> u8 {
        self.next().iter().fold(0, |sum, step| sum.wrapping_add(*step))
    }

    /// Two planes, low and high byte, of steps with the sign in the lowest bit.
    fn wide(&mut self) -> i32 {
        let mut low_high = [0_i32; 2];
        let (low, high) = (self.next(), self.next());
        for (low, high) in low.iter().zip(high) {
            let folded = i32::from(*high) << 8 | i32::from(*low);
            low_high[(folded & 1) as usize] += (folded + 1) / 2;
        }
        low_high[0] - low_high[1]
    }
}
