//! The inputs of the game.

use super::{
    About, CompletionItem, CompletionKind,
    habits::FREE,
    values::{Proposals, Wanted},
};
use crate::{
    hover::controls_of_input,
    prose::{Line, Prose},
};
use dialect::ControlKind;

/// The inputs of a kind, the free ones first. Where the dialect takes any kind,
/// the kind of the control around the place decides.
pub(super) fn inputs(wanted: &Wanted<'_, '_>, kind: Option<ControlKind>, list: &mut Proposals) {
    let Some(meaning) = &wanted.view.meaning else {
        return;
    };
    let element = wanted.spot.owner.range();
    let all = meaning.outline.all(|facts| &facts.controls);
    let around = all
        .map(|(entry, control)| (entry.placed(&control.element), control.kind))
        .filter(|(range, _)| range.contains_range(element));
    let control = around.max_by_key(|(range, _)| range.start());
    let own = control.map(|(range, _)| range);
    let kinds = match kind.or(control.and_then(|(_, kind)| kind)) {
        Some(kind) => vec![kind],
        None => vec![ControlKind::Analog, ControlKind::Digital],
    };
    let mut taken = Vec::new();
    for kind in kinds {
        for word in &wanted.dialect.inputs.of(kind).words {
            let users = controls_of_input(&meaning.outline, &word.text, own);
            let item = CompletionItem::new(CompletionKind::Input, &word.text, word.text.as_str());
            if users.is_empty() {
                list.add(item.detail(FREE).doc(&word.doc));
            } else {
                let by = Prose::new().paragraph(Line::new().text("used by ").list(users));
                let about = Prose::new().doc(&word.doc).then(by.clone());
                taken.push(item.detail(by.plain()).about(About::Text(about)));
            }
        }
    }
    taken.into_iter().for_each(|item| list.add(item));
}
