//! How warm the cells get.

/// How a mounting lets the module cool.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mounting {
    /// Rise in still air: the exponent's constant.
    pub a: f64,
    /// Cooling by wind, s/m.
    pub b: f64,
    /// Cell over back of module at 1000 W/m2, K.
    pub delta_k: f64,
}

impl Mounting {
    /// A rigid module a hand's breadth or less above the roof. Source: King et al. 2004, SAND2004-3535, table 1.
    pub const CLOSE_ROOF: Self = Self { a: -2.98, b: -0.0471, delta_k: 1.0 };
    /// A module glued down, no air behind it. Source: King et al. 2004, SAND2004-3535, table 1.
    pub const INSULATED_BACK: Self = Self { a: -2.81, b: -0.0455, delta_k: 0.0 };
    /// A module tilted up, air all round. Source: King et al. 2004, SAND2004-3535, table 1.
    pub const OPEN_RACK: Self = Self { a: -3.56, b: -0.075, delta_k: 3.0 };

    /// Temperature of the module's back: total irradiance on its plane, air, wind at 10 m.
    /// Source: King, Boyson & Kratochvil 2004, SAND2004-3535, eq. 11.
    #[must_use]
    pub fn module_c(&self, poa_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
        air_c + poa_w_m2 * (self.a + self.b * wind_m_s.max(0.0)).exp()
    }

    /// Temperature of the cells.
    /// Source: King, Boyson & Kratochvil 2004, SAND2004-3535, eq. 12.
    #[must_use]
    pub fn cell_c(&self, poa_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
        self.module_c(poa_w_m2, air_c, wind_m_s) + self.delta_k * poa_w_m2 / 1000.0
    }
}
