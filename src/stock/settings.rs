//! Settings of the shop and of the screen.

use crate::plan::field::{Kind, Quantity};
use crate::plan::format::{self, LoadError};
use crate::plan::job::{GaugeSystem, LengthUnit, Paper, TemperatureUnit, YesNo};
use crate::plan::known::Known;
use crate::plan::sources::{CHOICE, PRACTICE};
use crate::standards::kinds::Basis;
use crate::units::{Hours, Number};
use crate::{record, word_leaves, words};

words! { /// How the screen marks things; `auto` follows the terminal.
Palette { Auto = "auto", Plain = "plain", Colour = "colour", Contrast = "contrast" } }
word_leaves!(Palette);

record! {
    /// The shop's identity, the screen's looks, and what new plans start with.
    Settings "settings" {
        palette: Palette = Palette::Auto => "palette", Kind::Words(Palette::WORDS), "Plain uses bold and reverse only; contrast is for bright sun; auto follows the terminal.", &CHOICE;
        ascii: YesNo = YesNo::No => "ASCII borders", Kind::Words(YesNo::WORDS), "Draw borders with - | + for terminals that garble lines.", &CHOICE;
        shop_name: String => "shop", Kind::Text, "Your shop's name, printed on papers.", &CHOICE;
        shop_address: String => "address", Kind::Text, "Printed on papers.", &CHOICE;
        shop_contact: String => "contact", Kind::Text, "Telephone or mail, printed on papers.", &CHOICE;
        shop_licence: String => "licence", Kind::Text, "Licence or certification number, printed on papers.", &CHOICE;
        terms: String => "terms", Kind::Text, "A line printed under every quote.", &CHOICE;
        basis: Basis = Basis::UsRv => "rule basis", Kind::Words(Basis::WORDS), "What new plans start with.", &CHOICE;
        gauge_system: GaugeSystem = GaugeSystem::Awg => "gauges in", Kind::Words(GaugeSystem::WORDS), "What new plans start with.", &CHOICE;
        length_unit: LengthUnit = LengthUnit::Feet => "lengths in", Kind::Words(LengthUnit::WORDS), "What new plans start with.", &CHOICE;
        temperature_unit: TemperatureUnit = TemperatureUnit::Fahrenheit => "temperatures in", Kind::Words(TemperatureUnit::WORDS), "What new plans start with.", &CHOICE;
        paper: Paper = Paper::Letter => "paper", Kind::Words(Paper::WORDS), "What new plans start with.", &CHOICE;
        currency: String = "USD".into() => "currency", Kind::Text, "What new plans start with.", &CHOICE;
        labour_rate: Option<Known<Number>> => "labour an hour", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 10_000.0 }, "What new plans start with.", &CHOICE;
        markup_pct: Option<Known<Number>> => "markup", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 1000.0 }, "What new plans start with.", &CHOICE;
        deposit_pct: Option<Known<Number>> => "deposit", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 100.0 }, "What new plans start with.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { times: StandardTime }
}

record! {
    /// Standard labour time of a task.
    StandardTime "standard time" item "ST" {
        name: String => "task", Kind::Text, "What is done.", &CHOICE;
        hours_h: Known<Hours> => "hours", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 1000.0 }, "Hours it takes you.", &PRACTICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

impl Settings {
    /// Reads the settings file.
    ///
    /// # Errors
    /// [`LoadError`] with line, column and field.
    pub fn from_text(text: &str) -> Result<Self, LoadError> {
        format::read(text, "a settings file")
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        format::write(self)
    }

    /// An empty plan with these units, rates and rule basis.
    #[must_use]
    pub fn blank_plan(&self) -> crate::plan::Plan {
        let mut plan = crate::plan::Plan::blank();
        plan.job.basis = self.basis;
        plan.job.gauge_system = self.gauge_system;
        plan.job.length_unit = self.length_unit;
        plan.job.temperature_unit = self.temperature_unit;
        plan.job.paper = self.paper;
        plan.job.currency.clone_from(&self.currency);
        plan.money.labour_rate = self.labour_rate.unwrap_or_default();
        plan.money.markup_pct = self.markup_pct;
        plan.money.deposit_pct = self.deposit_pct;
        plan
    }
}
