//! The truck stock: moving about, fields, items, undo. Every change is saved at once.

use std::sync::Arc;

use crate::document::difference;
use crate::plan::edit::record_in;
use crate::plan::entry::{self, Units};
use crate::plan::{FieldPath, Kind, Value};
use crate::stock::{Stock, Truck};
use crate::tui::choice::ChoiceList;
use crate::tui::form::{self, Page, Place, Row};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::{Effect, TruckFailure};
use crate::tui::model::{Answer, Confirm, Left, Model, Overlay, Then};
use crate::tui::shop::{Shop, ShopField, TruckFile};
use crate::wording::naming::meta_in;

use super::{field, overlay};

/// Said while the file does not read; why stands above the lists.
const CLOSED: &str = "nothing can be changed while the file does not read: mend it, then Esc and 8";

/// Differences from the file that a question names. Source: our own choice, what it has room for.
const DIFFERENCES: usize = 4;

/// Changes kept for undo.
const UNDO_DEPTH: usize = 200;

/// Asks for the file as it stands now.
pub(super) fn open(model: &mut Model) -> Option<Effect> {
    model.is_guided = false;
    if let Some(shop) = model.left_shop.take_if(|left| left.is_unsaved) {
        model.shop = Some(shop);
        model.say("its last change is not in its file yet: w tries again");
        return None;
    }
    Some(Effect::OpenTruck)
}

/// The file arrived.
pub(super) fn arrives(model: &mut Model, file: TruckFile) {
    let units = match model.plan() {
        Some(plan) => Units::of(plan),
        None => Units::of(&model.stock.settings.blank_plan()),
    };
    let mut shop = Shop::new(file, &model.stock, units);
    if let Some(left) = model.left_shop.take_if(|left| left.stock.truck == shop.stock.truck) {
        (shop.past, shop.undone) = (left.past, left.undone);
    }
    if shop.broken.is_some() {
        model.say("the truck stock's file does not read; it is left as it is");
    } else if shop.on_disk.is_none() {
        model.say("there is no truck stock yet: t begins one, or a adds an item");
    }
    let is_other = shop.broken.is_none() && shop.stock.truck != model.stock.truck;
    let stock = Arc::clone(&shop.stock);
    model.shop = Some(shop);
    if is_other {
        take(model, stock);
    }
}

/// A save of the truck stock ended.
pub(super) fn saved(model: &mut Model, result: Result<Box<Truck>, TruckFailure>) {
    match result {
        Ok(truck) => {
            if let Some(shop) = &mut model.shop {
                shop.is_unsaved = shop.stock.truck != *truck;
                shop.on_disk = Some(*truck);
            }
        }
        Err(failure) => {
            if let Some(shop) = &mut model.shop {
                shop.is_unsaved = true;
            }
            match failure {
                TruckFailure::Failed(why) => model.say(format!("truck stock NOT saved: {why}")),
                TruckFailure::Changed(now) => ask_whose(model, now),
            }
        }
    }
}

/// Its file was changed by someone else: whose list it is to be.
fn ask_whose(model: &mut Model, now: Option<Box<Truck>>) {
    let Some(shop) = &model.shop else {
        model.say("truck stock NOT saved: its file was changed by someone else: 8 and w ask whose it is to be");
        return;
    };
    let theirs = Stock { truck: now.as_deref().cloned().unwrap_or_default(), ..Stock::clone(&shop.stock) };
    let lines = difference::of((&theirs, shop.units), (&*shop.stock, shop.units));
    let named = lines.get(..DIFFERENCES.min(lines.len())).unwrap_or_default().join("; ");
    let more = match lines.len().saturating_sub(DIFFERENCES) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    let what = if now.is_some() { "was changed by someone else" } else { "is gone" };
    model.overlay = Some(Overlay::Confirm(Confirm {
        question: format!("NOT saved: the truck stock's file {what}. From there to what is on screen: {named}{more}."),
        answers: vec![
            Answer { letter: 's', words: "save what is on screen over it", then: Then::TruckOver(now.clone()) },
            Answer {
                letter: 't',
                words: "take what the file holds; u brings back what is on screen",
                then: Then::TruckFrom(now),
            },
            Answer { letter: 'k', words: "neither now", then: Then::Nothing },
        ],
        cursor: 2,
    }));
}

/// Saves over what somebody else wrote there, which was shown.
pub(super) fn over(model: &mut Model, now: Option<Box<Truck>>) -> Option<Effect> {
    model.shop.as_mut()?.on_disk = now.map(|truck| *truck);
    save(model)
}

/// Takes what the file holds; one undo brings back what was on screen.
pub(super) fn take_theirs(model: &mut Model, now: Option<Box<Truck>>) {
    let Some(shop) = &mut model.shop else { return };
    let truck = now.as_deref().cloned().unwrap_or_default();
    let stock = Arc::new(Stock { truck, ..Stock::clone(&shop.stock) });
    shop.past.push(std::mem::replace(&mut shop.stock, Arc::clone(&stock)));
    shop.undone.clear();
    (shop.on_disk, shop.is_unsaved) = (now.map(|truck| *truck), false);
    settle(shop);
    take(model, stock);
    model.say("as the file has it; u brings back what was on screen");
}

pub(super) fn act(model: &mut Model, action: Action) -> Option<Effect> {
    match action {
        Action::Back => return back(model),
        Action::Show(_) => model.say("digits show screens of the plan alone: Esc leads back to it"),
        Action::Help => model.overlay = Some(Overlay::Help { scroll: 0, over: None }),
        Action::Up | Action::Down | Action::PageUp | Action::PageDown | Action::First | Action::Last => {
            move_cursor(model, action);
        }
        Action::Enter | Action::Right => return enter(model),
        Action::Add => return add_item(model),
        Action::Duplicate => return change(model, duplicate),
        Action::Delete => return change(model, delete),
        Action::Starter => return change(model, starter),
        Action::Larger | Action::Smaller => return change(model, |shop| step(shop, action == Action::Larger)),
        Action::Undo | Action::Redo => return undo(model, action == Action::Undo),
        Action::Save => return save(model),
        _ => {}
    }
    None
}

/// Back from a page; from the first one to the plan. A new item that nothing was entered in goes again.
fn back(model: &mut Model) -> Option<Effect> {
    let shop = model.shop.as_mut()?;
    if shop.pages.len() > 1 {
        let left = shop.pages.pop();
        let is_new = shop.fresh.take().is_some_and(|fresh| Arc::ptr_eq(&fresh, &shop.stock));
        let Some(Page { place: Place::Record(at), .. }) = left.filter(|_| is_new) else { return None };
        let stock = shop.past.pop()?;
        shop.stock = Arc::clone(&stock);
        settle(shop);
        take(model, stock);
        model.say(format!("{} is gone again: nothing was entered in it", at.split_last().1));
        return save(model);
    }
    let mut left = model.shop.take()?;
    if left.is_unsaved {
        model.say("the truck stock's last change is NOT in its file: 8 shows it again, w there tries again");
    }
    left.pages.truncate(1);
    model.left_shop = Some(left);
    None
}

/// A new item, open to be filled in.
fn add_item(model: &mut Model) -> Option<Effect> {
    let effect = change(model, add);
    if let Some(shop) = model.shop.as_mut().filter(|_| effect.is_some()) {
        shop.fresh = Some(Arc::clone(&shop.stock));
    }
    effect
}

fn move_cursor(model: &mut Model, action: Action) {
    let page = layout::page_rows(model.size);
    model.left = None;
    let Some(shop) = &mut model.shop else { return };
    let rows = shop.rows();
    if let Some(top) = shop.pages.last_mut() {
        top.cursor = form::stop_at(&rows, overlay::scrolled(action, top.cursor, rows.len(), page));
    }
}

fn enter(model: &mut Model) -> Option<Effect> {
    let shop = model.shop.as_mut()?;
    match shop.row()? {
        Row::Item { at, .. } => shop.pages.push(Page::new(Place::Record(at))),
        Row::Link { place, .. } => shop.pages.push(Page::new(place)),
        Row::Add { .. } => return add_item(model),
        Row::Field { at, meta } => {
            if shop.broken.is_some() {
                model.say(CLOSED);
                return None;
            }
            let value = shop.stock.get_at(&at)?;
            let now = entry::show(shop.units, meta, &value);
            let list = ChoiceList::of(&*shop.stock, &at, meta, &now);
            let line = LineEdit::replacing(now);
            shop.field = Some(ShopField { at, line, touched: false, said: Ok(String::new()), list });
        }
        Row::Heading(_) => {}
    }
    None
}

type Changed = Result<(Stock, String), String>;

/// Makes a change, keeps what was for undo, and saves.
fn change(model: &mut Model, make: impl FnOnce(&mut Shop) -> Changed) -> Option<Effect> {
    let shop = model.shop.as_mut()?;
    if shop.broken.is_some() {
        model.say(CLOSED);
        return None;
    }
    match make(shop) {
        Ok((stock, said)) => {
            let before = std::mem::replace(&mut shop.stock, Arc::new(stock));
            shop.past.push(before);
            if shop.past.len() > UNDO_DEPTH {
                shop.past.remove(0);
            }
            shop.undone.clear();
            let stock = Arc::clone(&shop.stock);
            settle(shop);
            take(model, stock);
            if !said.is_empty() {
                model.say(said);
            }
            save(model)
        }
        Err(why) => {
            model.say(why);
            None
        }
    }
}

/// The stock is that of the plan's prices too.
fn take(model: &mut Model, stock: Arc<Stock>) {
    if let Some(document) = &mut model.document {
        document.set_stock(Arc::clone(&stock));
    }
    model.stock = stock;
}

fn save(model: &mut Model) -> Option<Effect> {
    let shop = model.shop.as_mut().filter(|shop| shop.broken.is_none())?;
    shop.is_unsaved = true;
    let was = shop.on_disk.clone().map(Box::new);
    Some(Effect::SaveTruck { truck: Box::new(shop.stock.truck.clone()), was })
}

fn undo(model: &mut Model, back: bool) -> Option<Effect> {
    let shop = model.shop.as_mut()?;
    let (from, to) = if back { (&mut shop.past, &mut shop.undone) } else { (&mut shop.undone, &mut shop.past) };
    let Some(stock) = from.pop() else {
        model.say(if back { "nothing to undo" } else { "nothing to redo" });
        return None;
    };
    to.push(std::mem::replace(&mut shop.stock, Arc::clone(&stock)));
    settle(shop);
    take(model, stock);
    model.say(if back { "undone" } else { "done again" });
    save(model)
}

/// Puts every cursor back onto something that exists.
fn settle(shop: &mut Shop) {
    let stock = Arc::clone(&shop.stock);
    let exists = |place: &Place| form::exists_in(&*stock, place);
    if let Some(gone) = shop.pages.iter().position(|page| !exists(&page.place)) {
        shop.pages.truncate(gone.max(1));
    }
    for page in &mut shop.pages {
        let rows = form::rows_in(shop.units, &*stock, &page.place);
        page.cursor = form::stop_at(&rows, page.cursor.min(rows.len().saturating_sub(1)));
    }
}

fn starter(shop: &mut Shop) -> Changed {
    if !shop.offers_starter() {
        return Err("there is a truck stock already".into());
    }
    let mut stock = Stock::clone(&shop.stock);
    stock.truck = Truck::starter();
    Ok((stock, "the usual sizes are listed: count and price them, delete what you do not carry".into()))
}

fn add(shop: &mut Shop) -> Changed {
    let list = shop.list().ok_or("put the cursor on one of the lists first")?;
    let mut stock = Stock::clone(&shop.stock);
    let id = stock.add(&list).map_err(|e| e.to_string())?;
    if matches!(shop.page().map(|p| &p.place), Some(Place::Record(_))) {
        shop.pages.pop();
    }
    shop.pages.push(Page::new(Place::Record(list.join(&id))));
    Ok((stock, format!("{id} is new: fill it in")))
}

fn duplicate(shop: &mut Shop) -> Changed {
    let at = shop.item().ok_or("put the cursor on an item first")?;
    let (list, id) = at.split_last();
    let mut stock = Stock::clone(&shop.stock);
    let copy = stock.copy(&at).map_err(|e| e.to_string())?;
    if let Some(Page { place: Place::Record(open), .. }) = shop.pages.last_mut() {
        *open = list.join(&copy);
    }
    Ok((stock, format!("{id} copied to {copy}")))
}

fn delete(shop: &mut Shop) -> Changed {
    let at = shop.item().ok_or("put the cursor on an item first")?;
    let mut stock = Stock::clone(&shop.stock);
    stock.remove(&at).map_err(|e| e.to_string())?;
    let (_, id) = at.split_last();
    Ok((stock, format!("{id} deleted; u brings it back")))
}

fn step(shop: &mut Shop, up: bool) -> Changed {
    let Some(Row::Field { at, meta }) = shop.row() else { return Err("there is no size to step here".into()) };
    let value = shop.stock.get_at(&at).unwrap_or(Value::Unknown);
    let first = matches!(value, Value::Unknown).then(|| match meta.kind {
        Kind::Gauge => "10 AWG".parse().ok().map(Value::Gauge),
        _ => None,
    });
    let next = match first.flatten() {
        Some(first) => Some(first),
        None => record_in(&*shop.stock, &at.split_last().0)
            .and_then(|owner| entry::step_in(shop.units, &*shop.stock, owner, meta, &value, up)),
    };
    set(shop, &at, next.ok_or("there is no next size")?)
}

fn set(shop: &Shop, at: &FieldPath, to: Value) -> Changed {
    let mut stock = Stock::clone(&shop.stock);
    stock.set(at, to).map_err(|refused| refused.why)?;
    Ok((stock, String::new()))
}

/// While a field is open.
pub(super) fn field_act(model: &mut Model, action: Action) -> Option<Effect> {
    let page = layout::overlay_rows(model.size);
    let shop = model.shop.as_mut()?;
    let open = shop.field.as_mut()?;
    match action {
        Action::Back => {
            let field = shop.field.take();
            model.left = field.as_ref().map(|field| Left { at: field.at.clone(), by_esc: true });
            if let Some(kept) = &mut model.closed {
                kept.shop_field = field;
            }
        }
        Action::Enter | Action::NextPane | Action::PreviousPane | Action::Save => {
            return commit(model, action);
        }
        Action::Up | Action::Down | Action::Larger | Action::Smaller => match &mut open.list {
            Some(list) => {
                let typed = (!open.line.is_fresh()).then(|| open.line.text().to_string());
                field::mark_choice(list, typed.as_deref(), action, page);
                open.touched = true;
                understand(shop);
            }
            None => return commit(model, action),
        },
        _ => {
            let before = open.line.text().to_string();
            field::apply_to_line(&mut open.line, action);
            if open.line.text() != before {
                typed(shop);
            }
        }
    }
    None
}

/// Pasted text goes into the open field; whether it was taken.
pub(super) fn paste(model: &mut Model, text: &str) -> bool {
    let Some(shop) = &mut model.shop else { return true };
    let is_taken = shop.field.as_mut().is_none_or(|open| open.line.insert(text));
    if is_taken {
        typed(shop);
    }
    is_taken
}

fn typed(shop: &mut Shop) {
    let Some(open) = &mut shop.field else { return };
    open.touched = true;
    if let Some(list) = &mut open.list {
        list.narrowed(open.line.text());
    }
    understand(shop);
}

/// The text that counts: the marked choice, else the line.
fn meant(open: &ShopField) -> String {
    let typed = (!open.line.is_fresh()).then(|| open.line.text());
    let marked = open.list.as_ref().and_then(|list| list.marked(typed));
    marked.unwrap_or_else(|| open.line.text().to_string())
}

fn understand(shop: &mut Shop) {
    let Some(open) = &mut shop.field else { return };
    let parsed = entry::parse_in(shop.units, &*shop.stock, &open.at, &meant(open));
    open.said = parsed.map(|p| p.understood).map_err(|e| refused(&shop.stock, &open.at, &e.why));
}

/// Why a text is refused, with the name of its field.
fn refused(stock: &Stock, at: &FieldPath, why: &str) -> String {
    meta_in(stock, at).map_or_else(|| why.to_string(), |meta| format!("{}: {why}", meta.label))
}

/// Commits what is typed, then goes where the key leads. What does not parse stays open.
fn commit(model: &mut Model, action: Action) -> Option<Effect> {
    let shop = model.shop.as_mut()?;
    let open = shop.field.clone()?;
    let mut effect = None;
    if open.touched {
        match entry::parse_in(shop.units, &*shop.stock, &open.at, &meant(&open)) {
            Err(refused) => {
                let said = self::refused(&shop.stock, &open.at, &refused.why);
                model.say(said);
                return None;
            }
            Ok(parsed) => {
                shop.field = None;
                if shop.stock.get_at(&open.at) != Some(parsed.value.clone()) {
                    effect = change(model, |shop| set(shop, &open.at, parsed.value));
                }
            }
        }
    }
    let shop = model.shop.as_mut()?;
    shop.field = None;
    match action {
        Action::Up | Action::Down => move_cursor(model, action),
        Action::NextPane | Action::PreviousPane => {
            move_cursor(model, if action == Action::NextPane { Action::Down } else { Action::Up });
            let next = model.shop.as_ref().and_then(Shop::row);
            if let Some(Row::Field { at, .. }) = next
                && at != open.at
            {
                enter(model);
            }
        }
        _ => {}
    }
    effect
}

/// Help for the focused field of the stock.
#[must_use]
pub fn about(shop: &Shop) -> String {
    let at = match (&shop.field, shop.row()) {
        (Some(open), _) => open.at.clone(),
        (None, Some(Row::Field { at, .. })) => at,
        _ => return String::new(),
    };
    meta_in(&*shop.stock, &at)
        .map_or_else(String::new, |meta| format!("{}: {} [{}]", meta.label, meta.help, meta.source))
}
