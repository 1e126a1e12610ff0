//! The roof. X runs back from the front edge, Y from the driver's side, one datum.

use crate::plan::field::{Kind, Quantity};
use crate::plan::job::YesNo;
use crate::plan::known::Known;
use crate::plan::sources::{CHOICE, PRACTICE, SURVEY};
use crate::units::{Metres, Number};
use crate::{record, word_leaves, words};

words! { /// What the roof is covered with.
Skin { Membrane = "membrane", Fibreglass = "fibreglass", Aluminium = "aluminium", Steel = "steel" } }
words! { /// What carries the skin.
Deck { Plywood = "plywood", Osb = "OSB", Luan = "luan", Foam = "foam laminate", Metal = "thin metal" } }
words! { /// What the rafters are made of.
Rafter { Wood = "wood", Metal = "metal" } }
words! { /// What stands on a roof.
ObstacleKind {
    AirConditioner = "air conditioner", Vent = "vent", Skylight = "skylight", Antenna = "antenna", Pipe = "plumbing pipe",
    RefrigeratorVent = "refrigerator vent", Dish = "dish", Hatch = "exit hatch", Rack = "rack", Other = "other",
} }
words! { /// What holds the panels.
Fastener { Screws = "screws", LagScrews = "lag screws", ScrewsAndAdhesive = "screws and adhesive", Adhesive = "adhesive", Toggles = "toggles", Bolts = "bolts" } }
word_leaves!(Skin, Deck, Rafter, ObstacleKind, Fastener);

record! {
    /// The roof's size and make.
    Roof "roof" {
        length_m: Known<Metres> => "length", Kind::Number { quantity: Quantity::Size, least: 0.3, most: 20.0 }, "Front edge to rear edge.", &SURVEY;
        width_m: Known<Metres> => "width", Kind::Number { quantity: Quantity::Size, least: 0.3, most: 4.0 }, "Driver's side to the other.", &SURVEY;
        edge_m: Known<Metres> => "edge", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 0.5 }, "Strip along the edges that is curved or must stay free.", &SURVEY;
        skin: Known<Skin> => "skin", Kind::Words(Skin::WORDS), "What it is covered with.", &SURVEY;
        deck: Known<Deck> => "deck", Kind::Words(Deck::WORDS), "What carries the skin.", &SURVEY;
        deck_m: Known<Metres> => "deck thickness", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 0.1 }, "Thickness of the deck.", &SURVEY;
        rafter_spacing_m: Option<Known<Metres>> => "rafters every", Kind::Number { quantity: Quantity::Size, least: 0.1, most: 2.0 }, "Centre to centre.", &SURVEY;
        rafter_of: Option<Known<Rafter>> => "rafters of", Kind::Words(Rafter::WORDS), "What a screw finds below the deck. Left out: metal under thin metal, else wood.", &SURVEY;
        entry_x_m: Option<Known<Metres>> => "cable entry X", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 20.0 }, "Where the cables go through.", &SURVEY;
        entry_y_m: Option<Known<Metres>> => "cable entry Y", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 4.0 }, "Where the cables go through.", &SURVEY;
        foot_height_m: Known<Metres> => "height of the feet", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 0.3 }, "Air under the frame.", &PRACTICE;
        feet_per_panel: Known<Number> => "mounting feet a panel", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 20.0 }, "Four to 40 in and 150 W, six above.", &PRACTICE;
        fastener: Known<Fastener> => "held by", Kind::Words(Fastener::WORDS), "What holds the feet.", &CHOICE;
        screws_per_foot: Known<Number> => "screws in each foot", Kind::Number { quantity: Quantity::Count, least: 0.0, most: 12.0 }, "Screws in each foot.", &CHOICE;
        screw_number: Known<Number> => "screw number", Kind::Number { quantity: Quantity::Count, least: 4.0, most: 24.0 }, "Wood-screw number; 10 to 14 is usual.", &CHOICE;
        lag_diameter_m: Option<Known<Metres>> => "lag diameter", Kind::Number { quantity: Quantity::Size, least: 0.003, most: 0.03 }, "Shank of lag screws; 1/4 and 5/16 in are usual.", &CHOICE;
        screw_grip_m: Known<Metres> => "thread in wood", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 0.2 }, "Thread that grips wood, tip excluded.", &CHOICE;
        one_sided: YesNo = YesNo::No => "screws on one side", Kind::Words(YesNo::WORDS), "All screws of a foot stand on one side of it: the foot pries at them.", &SURVEY;
        tested_n: Option<Known<Number>> => "tested pull", Kind::Number { quantity: Quantity::Newtons, least: 0.0, most: 50_000.0 }, "Tested pull-out of one foot.", &SURVEY;
        adhesive_n: Option<Known<Number>> => "tested adhesive", Kind::Number { quantity: Quantity::Newtons, least: 0.0, most: 50_000.0 }, "Tested pull of what holds one whole panel that is glued flat. Left out: nobody has tested it.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { obstacles: Obstacle }
}

record! {
    /// Something that stands on the roof.
    Obstacle "obstacle" item "O" {
        kind: Known<ObstacleKind> => "kind", Kind::Words(ObstacleKind::WORDS), "What it is.", &SURVEY;
        x_m: Known<Metres> => "X", Kind::Number { quantity: Quantity::Size, least: -1.0, most: 20.0 }, "Its front edge, back from the front edge of the roof.", &SURVEY;
        y_m: Known<Metres> => "Y", Kind::Number { quantity: Quantity::Size, least: -1.0, most: 4.0 }, "Its driver-side edge.", &SURVEY;
        l_m: Known<Metres> => "length", Kind::Number { quantity: Quantity::Size, least: 0.01, most: 20.0 }, "Along the coach.", &SURVEY;
        w_m: Known<Metres> => "width", Kind::Number { quantity: Quantity::Size, least: 0.01, most: 4.0 }, "Across the coach.", &SURVEY;
        h_m: Known<Metres> => "height", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 3.0 }, "Above the skin, as driven.", &SURVEY;
        lid_swing_m: Option<Known<Metres>> => "lid swing", Kind::Number { quantity: Quantity::Size, least: 0.0, most: 3.0 }, "Extra reach of its lid or arm when open.", &SURVEY;
        serviced: YesNo = YesNo::No => "serviced", Kind::Words(YesNo::WORDS), "Someone must reach it later.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}
