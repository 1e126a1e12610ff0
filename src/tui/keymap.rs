//! One table of keys: context, key, action, label, help. Hints, help and the list of actions derive from it.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What keys mean now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Context {
    /// Moving about a screen.
    Browsing,
    /// A field is open: every printable key is text.
    Field,
    /// A list or a text stands over the screen.
    Overlay,
    /// A list or a question that takes text stands over the screen.
    Typing,
    /// A question with a few answers; each has its letter.
    Asking,
    /// No plan is open.
    Start,
    /// The truck stock.
    Shop,
    /// The opened year.
    Year,
}

/// When a key is worth a hint in the footer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// Never: it stands in the help only.
    Never,
    Always,
    /// A field is focused.
    OnField,
    /// A run is focused.
    OnRun,
    /// Something is focused whose choices are a ladder.
    OnLadder,
    /// The Bench, or a run's form.
    OnBench,
    /// The same, of a plan that has runs.
    OnRuns,
    /// A list item is focused.
    OnItem,
    /// A finding is focused.
    OnFinding,
    /// A finding about a run is opened.
    OnRunFinding,
    /// A finding is opened that rests on a rule value.
    OnRuleFinding,
    /// A finding is opened that the program knows a cure for.
    OnCure,
    /// A load is focused.
    OnLoad,
    /// Something can be added, or a finding cured.
    OnAddition,
    /// An empty text field's row is focused: letters begin typing.
    OnEmptyText,
    /// A text that stands is focused, or something to choose that small letters are no part of now: capitals begin typing.
    OnText,
    /// Something to choose is focused on a form: small letters begin typing, and capitals that one begins with.
    OnWords,
    /// There is a step to take back.
    OnUndo,
    /// Something is unknown.
    OnUnknown,
    /// A form's row is focused that takes a number: digits begin typing.
    OnDigits,
    /// A number's cell of the Bench is focused: digits show screens.
    OnNumber,
    /// The shelf or the places have something for what is focused.
    OnShelf,
    /// The same on an open field that nothing was typed in yet.
    OnShelfField,
    /// The shelf is open.
    OnShelfList,
    /// What is open has more lines than are shown.
    OnMore,
    /// The opened year has several stays.
    OnStays,
    /// A ladder of fuses is open.
    OnFuseLadder,
    /// Something can be chosen.
    OnChoice,
    /// The truck stock can be changed.
    OnSoundShop,
    /// There is no truck stock yet.
    OnEmptyShop,
    /// What is opened can be gone to.
    OnSubject,
    /// Sizing help is open.
    OnGoal,
    /// The same, with several stays.
    OnGoalStays,
    /// A ladder of a run's gauge or fuse is open.
    OnRunLadder,
    /// The sizing of all runs is shown.
    OnSizing,
}

/// What the program can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Action {
    Up,
    Down,
    Left,
    Right,
    PageUp,
    PageDown,
    /// The next lines of what does not fit.
    More,
    First,
    Last,
    NextPane,
    PreviousPane,
    Enter,
    Back,
    Larger,
    Smaller,
    /// One of the seven screens, or 0 for the whole plan.
    Show(u8),
    Undo,
    Redo,
    History,
    Baseline,
    Ladder,
    /// From a run's gauges to its fuse, and back.
    OtherLadder,
    /// Puts a stay into the goal of sizing help, or leaves it out.
    CountStay,
    SizeAll,
    /// Only what is on the truck, or all there is.
    TruckOnly,
    Add,
    Duplicate,
    Earlier,
    Later,
    Rename,
    Delete,
    NextUnknown,
    UnknownsOnly,
    Guide,
    Pick,
    Shelve,
    Actions,
    Save,
    SaveAs,
    Papers,
    OpenFile,
    Palette,
    Borders,
    Prices,
    Messages,
    Help,
    /// How many batteries and panels meet a goal.
    SizingHelp,
    Redraw,
    Suspend,
    Quit,
    Apply,
    Accept,
    /// To what a finding or a switch is about.
    GoTo,
    /// The hours a day of a load.
    Hours,
    /// The type of a run's fuse.
    FuseType,
    /// The insulation of a run's legs.
    Insulation,
    /// The zone of a run's legs.
    Zone,
    /// Whether a run's legs lie open or enclosed.
    Laid,
    /// How a run's limits come about.
    Working,
    /// To the rule value that a finding rests on.
    Rule,
    /// What each switch and line fuse makes dead.
    Isolation,
    /// Opens the year.
    Seasons,
    /// The next month of the opened year, and the one before.
    NextMonth,
    MonthBefore,
    /// The next stay of the opened year, and the one before.
    NextStay,
    StayBefore,
    /// The truck stock.
    Shop,
    /// A first truck stock to be filled in.
    Starter,
    EraseLeft,
    EraseRight,
    EraseWord,
    EraseAll,
    /// A character of text.
    Type(char),
}

/// A key as a person names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    pub code: KeyCode,
    pub ctrl: bool,
}

const fn key(code: KeyCode) -> Key {
    Key { code, ctrl: false }
}
const fn ch(c: char) -> Key {
    key(KeyCode::Char(c))
}
const fn ctrl(c: char) -> Key {
    Key { code: KeyCode::Char(c), ctrl: true }
}

impl std::fmt::Display for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let name = match self.code {
            KeyCode::Char(' ') => "Space".to_string(),
            KeyCode::Char(c) if self.ctrl => format!("Ctrl-{}", c.to_ascii_uppercase()),
            KeyCode::Char(c) => c.to_string(),
            KeyCode::PageUp => "PgUp".into(),
            KeyCode::PageDown => "PgDn".into(),
            KeyCode::BackTab => "Shift-Tab".into(),
            KeyCode::Backspace => "Backspace".into(),
            KeyCode::Delete => "Del".into(),
            KeyCode::Insert => "Ins".into(),
            other => format!("{other:?}"),
        };
        f.pad(&name)
    }
}

/// One row of the table.
#[derive(Debug)]
pub struct Binding {
    pub context: Context,
    pub keys: &'static [Key],
    pub action: Action,
    /// A word or two for the footer.
    pub label: &'static str,
    /// A sentence for the help.
    pub help: &'static str,
    pub when: When,
}

const fn row(
    context: Context,
    keys: &'static [Key],
    action: Action,
    label: &'static str,
    help: &'static str,
    when: When,
) -> Binding {
    Binding { context, keys, action, label, help, when }
}

use Context::{Asking, Browsing, Field, Overlay, Shop, Start, Typing, Year};
use KeyCode as K;
use When::{
    Always, Never, OnAddition, OnBench, OnChoice, OnCure, OnEmptyShop, OnField, OnFinding, OnFuseLadder, OnGoal,
    OnGoalStays, OnItem, OnLadder, OnLoad, OnMore, OnRuleFinding, OnRun, OnRunFinding, OnRunLadder, OnRuns, OnShelf,
    OnShelfField, OnShelfList, OnSizing, OnSoundShop, OnStays, OnSubject, OnUndo, OnUnknown,
};

/// The table. Within a context a key stands once; the order is the order of hints.
#[rustfmt::skip]
pub static BINDINGS: &[Binding] = &[
    row(Browsing, &[ch('+'), ch('=')], Action::Larger, "size", "Step the focused field to its next standard size.", OnField),
    row(Browsing, &[ch('-')], Action::Smaller, "size down", "Step the focused field to the standard size before.", Never),
    row(Browsing, &[key(K::Enter)], Action::Enter, "edit", "Open what is focused: a field, a form, a finding.", Always),
    row(Browsing, &[ch('x')], Action::Accept, "accept", "Accept the focused finding with a reason.", OnFinding),
    row(Browsing, &[ch('l')], Action::Ladder, "ladder", "Every choice as a row, with what it does to the plan: gauges or fuses of a run, wirings of an array, controllers of the shelf; on the bank how many batteries and panels meet a goal: no load short at the stays you choose, and days without sun.", OnLadder),
    row(Browsing, &[ch('G')], Action::SizingHelp, "sizing help", "Sizing help: how many batteries and panels meet a goal, no load short at the stays you choose, and days without sun.", Never),
    row(Browsing, &[ch('e')], Action::Working, "working", "How the selected run's ampacity, drop and fuse come about, leg by leg, with sources.", OnRun),
    row(Browsing, &[ch('z')], Action::SizeAll, "size all", "Propose the cheapest gauges that meet rules and targets, for all runs; shown first, applied when you say so.", OnRuns),
    row(Browsing, &[ch('b')], Action::Baseline, "baseline", "Hold the plan as it stands; every figure then shows its change. Again: let go.", OnBench),
    row(Browsing, &[ch('u'), ctrl('z')], Action::Undo, "undo", "Take the last step back.", OnUndo),
    row(Browsing, &[ch('a'), key(K::Insert)], Action::Add, "add", "Add an item; on Findings: apply the cure.", OnAddition),
    row(Browsing, &[ch('c')], Action::Duplicate, "copy", "Duplicate the focused item.", OnItem),
    row(Browsing, &[ch('d'), key(K::Delete)], Action::Delete, "delete", "Delete the focused item; asks first.", OnItem),
    row(Browsing, &[ch('R')], Action::Rename, "rename", "Rename the focused item; every reference follows.", Never),
    row(Browsing, &[ch('s'), ch('/')], Action::Pick, "shelf/place", "By typing a part of the name: on a list add an item from the shelf; on an item's own form, or on its line of the Bench, fill it in from the shelf, or the stay from the places.", OnShelf),
    row(Browsing, &[ch('S')], Action::Shelve, "to shelf", "Save the focused equipment to the shelf, to be picked again in other plans; asks first.", Never),
    row(Browsing, &[key(K::Backspace), ctrl('h')], Action::EraseAll, "type over", "Open the focused field with nothing in it.", Never),
    row(Browsing, &[ch('n'), ctrl('n')], Action::NextUnknown, "next ?", "Go to the next unknown, in the order of the walk-round.", OnUnknown),
    row(Browsing, &[ch('m')], Action::UnknownsOnly, "Tab on ?", "Tab walks only the unknowns; again: panes.", Never),
    row(Browsing, &[ch('g')], Action::GoTo, "go to it", "On Findings: go to the place that the marked one is about; elsewhere the next step of the walk-round.", OnFinding),
    row(Browsing, &[ctrl('g')], Action::Guide, "walk-round", "The next step of the walk-round: place, rules and units, bank, panel, controller, array, runs.", Never),
    row(Browsing, &[ch('w'), ctrl('s')], Action::Save, "save", "Save the plan.", Always),
    row(Browsing, &[ch(':'), ch(' ')], Action::Actions, "all", "Every action, found by typing a part of its name.", Always),
    row(Browsing, &[ch('?')], Action::Help, "help", "About the focused field, and every key.", Always),
    row(Browsing, &[ch('q')], Action::Quit, "quit", "Leave; asks where the plan is not saved.", Always),
    row(Browsing, &[ch('f')], Action::FuseType, "fuse type", "The type of the selected run's fuse, from a list; a run without one is asked for its amps first.", OnRun),
    row(Browsing, &[ch('I')], Action::Insulation, "insulation", "The insulation of the selected run's wire; then, if you say so, of every other leg of new wire that has none entered.", OnRun),
    row(Browsing, &[ch('Z')], Action::Zone, "zone", "Where the selected run's leg lies: the first whose zone is not known, else its first; then, if you say so, the same for every other leg of new wire that has none entered.", OnRun),
    row(Browsing, &[ch('L')], Action::Laid, "laid", "Whether the selected run's leg lies open, or in conduit, a jacketed cable or a cavity; then, if you say so, every other leg of new wire of which nobody has said.", OnRun),
    row(Browsing, &[ch('h')], Action::Hours, "hours", "The hours a day of the selected load.", OnLoad),
    row(Browsing, &[key(K::Up)], Action::Up, "up", "One row up.", Never),
    row(Browsing, &[key(K::Down)], Action::Down, "down", "One row down.", Never),
    row(Browsing, &[key(K::Left)], Action::Left, "left", "One column left.", Never),
    row(Browsing, &[key(K::Right)], Action::Right, "right", "One column right.", Never),
    row(Browsing, &[key(K::PageUp)], Action::PageUp, "page up", "One page up.", Never),
    row(Browsing, &[key(K::PageDown)], Action::PageDown, "page down", "One page down.", Never),
    row(Browsing, &[key(K::Home)], Action::First, "first", "To the first row.", Never),
    row(Browsing, &[key(K::End)], Action::Last, "last", "To the last row.", Never),
    row(Browsing, &[key(K::Tab)], Action::NextPane, "next pane", "To the next pane, or the next unknown.", Never),
    row(Browsing, &[key(K::BackTab)], Action::PreviousPane, "pane before", "To the pane before.", Never),
    row(Browsing, &[key(K::Esc)], Action::Back, "back", "Back from a form. Never quits, never loses an edit.", Never),
    row(Browsing, &[ch('1')], Action::Show(1), "Bench", "Screen Bench: equipment, results, wiring runs. Where the footer says that digits type here a digit is typed, no screen shown: an arrow leads to another row, Space lists the screens too. Over the Bench digits show screens: Enter, Backspace or a point begins typing a number there.", Never),
    row(Browsing, &[ch('2')], Action::Show(2), "Loads", "Screen Loads: what uses energy.", Never),
    row(Browsing, &[ch('3')], Action::Show(3), "Year", "Screen Year: stays and months.", Never),
    row(Browsing, &[ch('4')], Action::Show(4), "Roof", "Screen Roof: roof, panels, arrays.", Never),
    row(Browsing, &[ch('5')], Action::Show(5), "Findings", "Screen Findings: what the checks say.", Never),
    row(Browsing, &[ch('6')], Action::Show(6), "Papers", "Screen Papers: money, options and milestones; O writes what is printed.", Never),
    row(Browsing, &[ch('7')], Action::Show(7), "Readings", "Screen Readings: visits.", Never),
    row(Browsing, &[ch('8')], Action::Shop, "truck stock", "The truck stock: wire on spools, fuses, lugs, parts, with prices.", Never),
    row(Browsing, &[ch('y')], Action::Seasons, "year", "The year by months, as a picture, what limits it, a typical and a dark day, the longest dull spell; tilt, heading and driving of each stay can be changed there.", Never),
    row(Browsing, &[ch('i')], Action::Isolation, "isolation", "For every switch, breaker and line fuse: what goes dead, what stays live.", Never),
    row(Browsing, &[ch('v')], Action::Rule, "rule", "Change a rule value for this plan, with a reason: of all rules by typing a part of its name or words; on Findings the one that the finding rests on.", Never),
    row(Browsing, &[ch('0')], Action::Show(0), "whole plan", "Every section of the plan.", Never),
    row(Browsing, &[ch('<'), ch('K')], Action::Earlier, "earlier", "Move the item one place up in its list.", Never),
    row(Browsing, &[ch('>'), ch('J')], Action::Later, "later", "Move the item one place down in its list.", Never),
    row(Browsing, &[ch('r'), ctrl('r')], Action::Redo, "redo", "Do the last undone step again.", Never),
    row(Browsing, &[ch('U')], Action::History, "history", "Every step by name; choose how far to go back.", Never),
    row(Browsing, &[ch('W')], Action::SaveAs, "save as", "Save the plan under another name.", Never),
    row(Browsing, &[ch('O')], Action::Papers, "print", "Write checks, wire schedule and isolation to a folder, as text files to print; asks before it replaces any.", Never),
    row(Browsing, &[ch('o')], Action::OpenFile, "open", "Open another plan.", Never),
    row(Browsing, &[ch('p')], Action::Palette, "palette", "Plain, colour, contrast.", Never),
    row(Browsing, &[ch('P')], Action::Prices, "prices", "Hide or show prices, for the customer's eye.", Never),
    row(Browsing, &[ch('B')], Action::Borders, "borders", "Lines drawn in ASCII or not.", Never),
    row(Browsing, &[ch('M')], Action::Messages, "messages", "What was said so far, newest last.", Never),
    row(Browsing, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),
    row(Browsing, &[ctrl('t')], Action::Suspend, "suspend", "Stop the program; the shell's fg brings it back.", Never),

    row(Field, &[key(K::Enter)], Action::Enter, "commit", "Commit what is typed as one step.", Always),
    row(Field, &[ch('/')], Action::Pick, "shelf/place", "Before anything is typed: fill the whole item from the shelf, or the stay from the places; later it is text.", OnShelfField),
    row(Field, &[key(K::Tab)], Action::NextPane, "commit, next", "Commit and open the next field.", Always),
    row(Field, &[key(K::BackTab)], Action::PreviousPane, "commit, before", "Commit and open the field before.", Never),
    row(Field, &[key(K::Esc)], Action::Back, "drop draft", "Drop the draft; what was committed stays.", Always),
    row(Field, &[key(K::Up)], Action::Up, "commit, up", "Commit and go one row up.", Never),
    row(Field, &[key(K::Down)], Action::Down, "commit, down", "Commit and go one row down.", Never),
    row(Field, &[key(K::Left)], Action::Left, "left", "Cursor left.", Never),
    row(Field, &[key(K::Right)], Action::Right, "right", "Cursor right.", Never),
    row(Field, &[key(K::Home), ctrl('a')], Action::First, "start", "Cursor to the start.", Never),
    row(Field, &[key(K::End), ctrl('e')], Action::Last, "end", "Cursor to the end.", Never),
    row(Field, &[key(K::Backspace), ctrl('h')], Action::EraseLeft, "erase", "Erase to the left.", Never),
    row(Field, &[key(K::Delete), ctrl('d')], Action::EraseRight, "erase right", "Erase to the right.", Never),
    row(Field, &[ctrl('w')], Action::EraseWord, "erase word", "Erase a word.", Never),
    row(Field, &[ctrl('u')], Action::EraseAll, "erase all", "Erase the line.", Never),
    row(Field, &[ctrl('s')], Action::Save, "save", "Commit what is typed and save the plan.", Never),
    row(Field, &[key(K::PageUp)], Action::Larger, "size up", "The next standard size, committed by Enter.", Never),
    row(Field, &[key(K::PageDown)], Action::Smaller, "size down", "The standard size before, committed by Enter.", Never),
    row(Field, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),

    row(Overlay, &[key(K::Enter)], Action::Enter, "choose", "Choose the marked row.", OnChoice),
    row(Overlay, &[ch('f')], Action::OtherLadder, "gauge/fuse", "From the run's gauges to its fuse, and back.", OnRunLadder),
    row(Overlay, &[ch('s')], Action::CountStay, "stay in/out", "On sizing help: the marked stay counts in the goal, or not.", OnGoalStays),
    row(Overlay, &[ch('+'), ch('=')], Action::Larger, "dull days", "On sizing help: the bank is to last half a day more without sun.", OnGoal),
    row(Overlay, &[ch('-')], Action::Smaller, "fewer dull days", "On sizing help: the bank is to last half a day less without sun.", Never),
    row(Overlay, &[key(K::Left)], Action::Left, "family before", "On a fuse ladder: the fuse type before; on sizing help: the stay before.", Never),
    row(Overlay, &[key(K::Right)], Action::Right, "next type", "On a fuse ladder: the next fuse type; on sizing help: the next stay.", OnFuseLadder),
    row(Overlay, &[ch('t')], Action::TruckOnly, "truck/all", "Size with what is on the truck only, or with every gauge there is.", OnSizing),
    row(Overlay, &[ch('a')], Action::Apply, "apply cure", "Apply the marked cure.", OnCure),
    row(Overlay, &[ch('x')], Action::Accept, "accept", "Accept the finding with a reason.", OnFinding),
    row(Overlay, &[ch('e')], Action::Working, "working", "How the figures of the run it is about come about.", OnRunFinding),
    row(Overlay, &[ch('v')], Action::Rule, "its rule", "Change the rule value that the finding rests on, for this plan, with a reason.", OnRuleFinding),
    row(Overlay, &[ch('g')], Action::GoTo, "go to it", "Go to what it is about.", OnSubject),
    row(Overlay, &[ch('?')], Action::Help, "help", "What the open box is about, its columns and keys; Esc goes back to it.", OnGoal),
    row(Overlay, &[key(K::Esc), ch('q')], Action::Back, "close", "Close; nothing changes.", Always),
    row(Overlay, &[key(K::Up)], Action::Up, "up", "One row up.", Never),
    row(Overlay, &[key(K::Down)], Action::Down, "down", "One row down.", Never),
    row(Overlay, &[key(K::PageUp)], Action::PageUp, "page up", "One page up.", Never),
    row(Overlay, &[ch(' ')], Action::More, "more", "The next lines: of what is said of the marked row, or one page down.", OnMore),
    row(Overlay, &[key(K::PageDown)], Action::PageDown, "page down", "One page down.", Never),
    row(Overlay, &[key(K::Home)], Action::First, "first", "To the first row.", Never),
    row(Overlay, &[key(K::End)], Action::Last, "last", "To the last row.", Never),
    row(Overlay, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),

    row(Typing, &[key(K::Enter)], Action::Enter, "choose", "Take what is typed or marked.", Always),
    row(Typing, &[key(K::Esc)], Action::Back, "close", "Close; nothing changes.", Always),
    row(Typing, &[ctrl('x')], Action::Delete, "off the shelf", "On the shelf: take the marked row off it; asks first.", OnShelfList),
    row(Typing, &[key(K::Up)], Action::Up, "up", "One row up.", Never),
    row(Typing, &[key(K::Down)], Action::Down, "down", "One row down.", Never),
    row(Typing, &[key(K::PageUp)], Action::PageUp, "page up", "One page up.", Never),
    row(Typing, &[key(K::PageDown)], Action::PageDown, "page down", "One page down.", Never),
    row(Typing, &[key(K::Left)], Action::Left, "left", "Cursor left.", Never),
    row(Typing, &[key(K::Right)], Action::Right, "right", "Cursor right.", Never),
    row(Typing, &[key(K::Home), ctrl('a')], Action::First, "start", "Cursor to the start.", Never),
    row(Typing, &[key(K::End), ctrl('e')], Action::Last, "end", "Cursor to the end.", Never),
    row(Typing, &[key(K::Tab)], Action::NextPane, "complete", "Take the marked row's text.", Never),
    row(Typing, &[key(K::Backspace), ctrl('h')], Action::EraseLeft, "erase", "Erase to the left.", Never),
    row(Typing, &[key(K::Delete), ctrl('d')], Action::EraseRight, "erase right", "Erase to the right.", Never),
    row(Typing, &[ctrl('w')], Action::EraseWord, "erase word", "Erase a word.", Never),
    row(Typing, &[ctrl('u')], Action::EraseAll, "erase all", "Erase the line.", Never),
    row(Typing, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),

    row(Asking, &[key(K::Enter)], Action::Enter, "choose", "Take the marked answer.", Always),
    row(Asking, &[key(K::Esc)], Action::Back, "stay", "Close; nothing changes.", Always),
    row(Asking, &[key(K::Up), key(K::Left)], Action::Up, "up", "The answer before.", Never),
    row(Asking, &[key(K::Down), key(K::Right), key(K::Tab)], Action::Down, "down", "The next answer.", Never),
    row(Asking, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),

    row(Start, &[key(K::Enter)], Action::Enter, "open", "Open the marked plan.", Always),
    row(Start, &[key(K::Up)], Action::Up, "up", "One row up.", Never),
    row(Start, &[key(K::Down)], Action::Down, "down", "One row down.", Never),
    row(Start, &[key(K::Home)], Action::First, "first", "To the first row.", Never),
    row(Start, &[key(K::End)], Action::Last, "last", "To the last row.", Never),
    row(Start, &[ch('8')], Action::Shop, "truck stock", "The truck stock: wire on spools, fuses, lugs, parts, with prices.", Always),
    row(Start, &[ch('o')], Action::OpenFile, "path", "Type the path of a plan.", Always),
    row(Start, &[ch('p')], Action::Palette, "palette", "Plain, colour, contrast.", Always),
    row(Start, &[ch('B')], Action::Borders, "borders", "Lines drawn in ASCII or not.", Never),
    row(Start, &[ch('?')], Action::Help, "help", "Every key.", Always),
    row(Start, &[ch('q')], Action::Quit, "quit", "Leave.", Always),
    row(Start, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),
    row(Start, &[ctrl('t')], Action::Suspend, "suspend", "Stop the program; the shell's fg brings it back.", Never),

    row(Year, &[key(K::Right)], Action::Right, "page", "The next page: months, picture, what limits it, a typical day, a dark day, the dull spell.", Always),
    row(Year, &[key(K::Down)], Action::Down, "more", "One line down.", OnMore),
    row(Year, &[ch('s')], Action::NextStay, "stay", "The next stay; its worst month is looked at.", OnStays),
    row(Year, &[ch('m')], Action::NextMonth, "month", "The next month.", Always),
    row(Year, &[key(K::Tab)], Action::NextPane, "field", "To the next of tilt, heading and driving.", Always),
    row(Year, &[key(K::Enter)], Action::Enter, "edit", "Type another value for the marked field of the stay: the year moves with it.", Always),
    row(Year, &[ch('+'), ch('=')], Action::Larger, "step", "Step the marked field up.", Always),
    row(Year, &[ch('-')], Action::Smaller, "step down", "Step the marked field down.", Never),
    row(Year, &[ch('u'), ctrl('z')], Action::Undo, "undo", "Take the last step back.", Always),
    row(Year, &[ch('r'), ctrl('r')], Action::Redo, "redo", "Do the last undone step again.", Never),
    row(Year, &[ch('b')], Action::Baseline, "base", "Hold the plan as it stands; the year then says what has changed. Again: let go.", Always),
    row(Year, &[ch('?')], Action::Help, "help", "About the marked field, and every key.", Always),
    row(Year, &[key(K::Esc), ch('q'), ch('y')], Action::Back, "close", "Back to the screen below; what was changed stays, u takes it back.", Always),
    row(Year, &[key(K::Left)], Action::Left, "page before", "The page before.", Never),
    row(Year, &[ch('S')], Action::StayBefore, "stay before", "The stay before.", Never),
    row(Year, &[ch('M')], Action::MonthBefore, "month before", "The month before.", Never),
    row(Year, &[key(K::BackTab)], Action::PreviousPane, "field before", "To the field before.", Never),
    row(Year, &[ch('w'), ctrl('s')], Action::Save, "save", "Save the plan.", Never),
    row(Year, &[key(K::Up)], Action::Up, "up", "One line up.", Never),
    row(Year, &[key(K::PageUp)], Action::PageUp, "page up", "One screenful up.", Never),
    row(Year, &[key(K::PageDown), ch(' ')], Action::PageDown, "page down", "One screenful down.", Never),
    row(Year, &[key(K::Home)], Action::First, "first", "To the first line.", Never),
    row(Year, &[key(K::End)], Action::Last, "last", "To the last line.", Never),
    row(Year, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),

    row(Shop, &[ch('t')], Action::Starter, "starter", "Begin with the usual gauges, fuses and lugs, to be counted and priced.", OnEmptyShop),
    row(Shop, &[key(K::Enter)], Action::Enter, "edit", "Open what is focused.", Always),
    row(Shop, &[ch('a')], Action::Add, "add", "Add an item to the list.", OnSoundShop),
    row(Shop, &[ch('c')], Action::Duplicate, "copy", "Duplicate the focused item.", OnSoundShop),
    row(Shop, &[ch('d'), key(K::Delete)], Action::Delete, "delete", "Delete the focused item; u brings it back.", OnSoundShop),
    row(Shop, &[ch('+'), ch('=')], Action::Larger, "size", "Step the focused field to its next size.", Never),
    row(Shop, &[ch('-')], Action::Smaller, "size down", "Step the focused field to the size before.", Never),
    row(Shop, &[ch('u'), ctrl('z')], Action::Undo, "undo", "Take the last change back.", OnSoundShop),
    row(Shop, &[ch('r'), ctrl('r')], Action::Redo, "redo", "Do it again.", Never),
    row(Shop, &[ch('w'), ctrl('s')], Action::Save, "save", "Save again what could not be saved.", Never),
    row(Shop, &[key(K::Esc), key(K::Left), ch('q'), ch('8')], Action::Back, "back", "Back to the list, and from there to the plan.", Always),
    row(Shop, &[ch('?')], Action::Help, "help", "About the focused field, and every key.", Always),
    row(Shop, &[key(K::Up), key(K::BackTab)], Action::Up, "up", "One row up.", Never),
    row(Shop, &[key(K::Down), key(K::Tab)], Action::Down, "down", "One row down.", Never),
    row(Shop, &[key(K::Right)], Action::Right, "open", "Open the focused list or item.", Never),
    row(Shop, &[key(K::PageUp)], Action::PageUp, "page up", "One page up.", Never),
    row(Shop, &[key(K::PageDown)], Action::PageDown, "page down", "One page down.", Never),
    row(Shop, &[key(K::Home)], Action::First, "first", "To the first row.", Never),
    row(Shop, &[key(K::End)], Action::Last, "last", "To the last row.", Never),
    row(Shop, &[ctrl('l')], Action::Redraw, "redraw", "Draw the whole screen anew.", Never),
    row(Shop, &[ctrl('t')], Action::Suspend, "suspend", "Stop the program; the shell's fg brings it back.", Never),
];

/// The action of a key, if it has one here.
#[must_use]
pub fn resolve(context: Context, event: KeyEvent) -> Option<Action> {
    if event.modifiers.intersects(KeyModifiers::ALT | KeyModifiers::SUPER | KeyModifiers::META) {
        return None;
    }
    let is_ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    let code = match event.code {
        KeyCode::Tab if event.modifiers.contains(KeyModifiers::SHIFT) => KeyCode::BackTab,
        KeyCode::Char(c) if is_ctrl => KeyCode::Char(c.to_ascii_lowercase()),
        code => code,
    };
    let wanted = Key { code, ctrl: is_ctrl && matches!(code, KeyCode::Char(_)) };
    let found = BINDINGS.iter().find(|b| b.context == context && b.keys.contains(&wanted)).map(|b| b.action);
    let takes_text = matches!(context, Field | Typing | Asking);
    found.or(match wanted {
        Key { code: KeyCode::Char(c), ctrl: false } if takes_text && !c.is_control() => Some(Action::Type(c)),
        // What digits do elsewhere they do not here, which is said.
        Key { code: KeyCode::Char(c @ '0'..='7'), ctrl: false } if context == Shop => {
            u8::try_from(c).ok().map(|digit| Action::Show(digit.saturating_sub(b'0')))
        }
        _ => None,
    })
}

/// Rows of a context, in the order of the table.
pub fn rows(context: Context) -> impl Iterator<Item = &'static Binding> {
    BINDINGS.iter().filter(move |b| b.context == context)
}

/// The keys of a row as text: `+ =`.
#[must_use]
pub fn key_names(binding: &Binding) -> String {
    binding.keys.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

/// Hints for the footer: key and label, in the order of the table, of keys alone that no letter is which `types` a text.
#[must_use]
pub fn hints(
    context: Context,
    holds: impl Fn(When) -> bool,
    types: impl Fn(char) -> bool,
) -> Vec<(String, &'static str)> {
    let is_text = holds(When::OnEmptyText) || holds(When::OnWords);
    let is_typed = |key: &Key| !key.ctrl && matches!(key.code, KeyCode::Char(c) if c.is_alphabetic() && types(c));
    let of = |b: &Binding| {
        let key = b.keys.iter().find(|key| !is_typed(key))?;
        Some(if b.action == Action::Larger { "+/-".to_string() } else { key.to_string() })
    };
    let what = match is_text {
        true => Some("letters"),
        false if holds(When::OnText) => Some("capitals"),
        false => holds(When::OnDigits).then_some("digits"),
    };
    let letters = what.map(|what| (what.to_string(), "type here"));
    let keys = rows(context).filter(|b| holds(b.when)).filter_map(|b| Some((of(b)?, b.label)));
    let mut all: Vec<(String, &'static str)> = letters.into_iter().chain(keys).collect();
    if holds(When::OnNumber) {
        // After the keys that change it.
        all.insert(all.len().min(2), ("0-8".to_string(), "views"));
    }
    all
}

/// Actions that can be chosen from the list: everything that browsing knows but moving about.
pub fn listed() -> impl Iterator<Item = &'static Binding> {
    rows(Browsing).filter(|b| {
        !matches!(
            b.action,
            Action::Up
                | Action::Down
                | Action::Left
                | Action::Right
                | Action::PageUp
                | Action::PageDown
                | Action::More
                | Action::First
                | Action::Last
                | Action::NextPane
                | Action::PreviousPane
                | Action::Actions
        )
    })
}
