//! Sample plans: to look at, to start from, and golden inputs of the tests.

use std::sync::LazyLock;

use crate::packed::inflate;

/// A plan that comes with the program.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// As typed after `--from`.
    pub name: &'static str,
    /// One line.
    pub about: &'static str,
    /// The file, inflated when first asked for.
    pub text: &'static LazyLock<String>,
}

macro_rules! samples {
    ($($name:literal $about:literal;)*) => {
        &[$(Sample {
            name: $name,
            about: $about,
            text: {
                static TEXT: LazyLock<String> =
                    LazyLock::new(|| text(include_bytes!(concat!(env!("OUT_DIR"), "/", $name, ".ron"))));
                &TEXT
            },
        }),*]
    };
}

/// Every sample, the simplest first.
pub static SAMPLES: &[Sample] = samples! {
    "bramble" "teardrop: one panel, tracking controller, one lithium battery";
    "sorrel" "class C: one panel, PWM controller, two AGM batteries";
    "marram" "panel van, metric: two panels, DC-DC charger from the start battery";
    "larkspur" "fifth wheel, full time: two arrays, four lithium batteries, 3 kW";
    "thistle" "travel trailer: a plan with ten mistakes, to practise on";
};

/// A test compares what this makes with the files.
fn text(packed: &[u8]) -> String {
    String::from_utf8(inflate(packed)).unwrap_or_default()
}

/// The sample of a name.
#[must_use]
pub fn sample(name: &str) -> Option<&'static Sample> {
    SAMPLES.iter().find(|s| s.name == name)
}
