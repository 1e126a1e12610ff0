//! Where the plan's own fields get their values from, for the help line.

use crate::standards::{Source, Standing};

/// Printed on the equipment.
pub static LABEL: Source = Source::new("the equipment's label", "", Standing::Verified);
/// In the equipment's instructions, which govern.
pub static SHEET: Source = Source::new("the equipment's instructions", "", Standing::Verified);
/// Measured or seen on the coach.
pub static SURVEY: Source = Source::new("the survey of this coach", "", Standing::Verified);
/// Asked of the customer.
pub static ASKED: Source = Source::new("the customer", "", Standing::Verified);
/// Decided by the technician.
pub static CHOICE: Source = Source::new("your choice", "", Standing::Chosen);
/// Common practice.
pub static PRACTICE: Source = crate::standards::source::COMMON_PRACTICE;
/// PV temperature coefficients.
pub static NEC_690_7: Source = Source::new("NEC", "690.7(A)", Standing::Verified);
/// Conductors: insulation and ambient.
pub static NEC_310_15: Source = Source::new("NEC", "310.15", Standing::Verified);
/// Overcurrent protection near the battery.
pub static NEC_552_10: Source = Source::new("NEC", "552.10(E)", Standing::Verified);
