//! Index paths and names of the scene's nodes.

use crate::node_paths::names_to;

use super::{
    About, CompletionItem, CompletionKind,
    values::{Proposals, Wanted, holds},
};

/// The names of nodes, as far as they lead to one node, in the order of the scene.
pub(super) fn names(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let Some(scene) = wanted.view.scene() else {
        return;
    };
    let typed = wanted.typed.trim().to_lowercase();
    let last = match &wanted.dialect.notation.node_names.separator {
        Some(mark) => typed.rsplit(mark.as_str()).next().unwrap_or_default(),
        None => typed.as_str(),
    };
    let found = scene.ids().filter(|id| {
        let above = scene[*id].parent.map_or("", |above| &scene[above].name);
        holds(&scene[*id].name, last) || holds(above, &typed)
    });
    for id in list.first_of(found) {
        let Some(path) = names_to(wanted.dialect, scene, id) else {
            continue;
        };
        let written = wanted.dialect.notation.write_node_path(&path);
        list.add(
            CompletionItem::new(CompletionKind::Node, &written, written.as_str())
                .detail(
                    wanted
                        .dialect
                        .notation
                        .index_path
                        .label(&scene.index_path(id)),
                )
                .about(About::Node(scene.index_path(id))),
        );
    }
}

/// The nodes that what is typed may mean, by path or by name: those directly
/// below the typed path first, else in the order of the scene.
pub(super) fn paths(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let Some(scene) = wanted.view.scene() else {
        return;
    };
    let notation = &wanted.dialect.notation.index_path;
    let typed = wanted.typed.trim();
    let folded = typed.to_lowercase();
    let parent = [&notation.separator, &notation.after_root]
        .into_iter()
        .filter(|mark| !mark.is_empty())
        .filter_map(|mark| typed.strip_suffix(mark.as_str()))
        .find_map(|above| scene.walk(&notation.parse(above).ok()?).ok());
    let children = parent.map_or(&[][..], |parent| scene.children(parent));
    let others = scene
        .ids()
        .filter(|id| parent.is_none() || scene[*id].parent != parent);
    let may_be_path = notation.may_begin_with(typed);
    let found = children.iter().copied().chain(others).filter_map(|id| {
        let name = &scene[id].name;
        let is_called_so = holds(name, &folded);
        if !is_called_so && !may_be_path {
            return None;
        }
        let path = scene.index_path(id);
        let written = notation.write(&path)?;
        (is_called_so || written.starts_with(typed)).then_some((written, name, path))
    });
    let found = list.first_of(found);
    list.items
        .extend(found.into_iter().map(|(written, name, path)| {
            CompletionItem::new(CompletionKind::Node, &written, written.as_str())
                .detail(&**name)
                .filter(format!("{written} {name}"))
                .about(About::Node(path))
        }));
}
