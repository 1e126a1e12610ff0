//! What an Esc closes, kept until the next key: on a slow line it may turn out to have been the beginning of an arrow.

use crate::document::Shown;
use crate::plan::Step;
use crate::tui::form::Page;
use crate::tui::model::{After, Left, Model, OpenField, Overlay};
use crate::tui::shop::ShopField;

/// What stood open before an Esc.
#[derive(Debug)]
pub struct Closed {
    /// What the Esc has closed, put here by what closes it.
    pub field: Option<OpenField>,
    pub shop_field: Option<ShopField>,
    pub overlay: Option<Overlay>,
    pages: Vec<Page>,
    left: Option<Left>,
    after: Option<After>,
    is_guided: bool,
    is_sizing: bool,
    messages: usize,
    draft: Option<(Step, Shown)>,
    /// Of the document: what changed it since is not taken back.
    revision: Option<u64>,
}

impl Model {
    /// Before an Esc is done: keeps what stands open.
    pub fn keep_open(&mut self) {
        self.closed = Some(Box::new(Closed {
            field: None,
            shop_field: None,
            overlay: None,
            pages: self.pages.clone(),
            left: self.left.clone(),
            after: self.after.clone(),
            is_guided: self.is_guided,
            is_sizing: self.sizing.is_some(),
            messages: self.messages.len(),
            draft: self.document.as_ref().and_then(|document| document.draft().cloned()),
            revision: self.document.as_ref().map(|document| document.revision()),
        }));
    }

    /// The Esc was none: what it closed stands open again.
    pub fn open_again(&mut self) {
        let Some(closed) = self.closed.take() else { return };
        let revision = self.document.as_ref().map(|document| document.revision());
        if closed.revision != revision || closed.is_sizing != self.sizing.is_some() {
            return;
        }
        if let Some(document) = &mut self.document {
            document.draw_again(closed.draft);
        }
        if let Some(shop) = &mut self.shop {
            shop.field = closed.shop_field.or_else(|| shop.field.take());
        }
        self.overlay = closed.overlay.or_else(|| self.overlay.take());
        (self.field, self.pages) = (closed.field, closed.pages);
        (self.left, self.after, self.is_guided) = (closed.left, closed.after, closed.is_guided);
        self.messages.truncate(closed.messages);
    }
}
