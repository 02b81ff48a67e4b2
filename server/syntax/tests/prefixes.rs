//! Which namespace a prefix stands for, where few are declared and where many are.

use syntax::FormCode;

fn codes(text: &str) -> Vec<FormCode> {
    let tree = syntax::parse(text);
    tree.errors().iter().map(|error| error.code).collect()
}

/// Declarations of so many prefixes, each for a namespace of its own.
fn declared(count: usize) -> String {
    (0..count)
        .map(|n| format!(" xmlns:p{n}='urn:{n}'"))
        .collect()
}

#[test]
fn each_prefix_is_known_inside_and_unknown_behind() {
    for count in [1, 2, 12, 13, 40] {
        let uses: String = (0..count)
            .map(|n| format!("<p{n}:b p{n}:c='1'/>"))
            .collect();
        let outer = declared(count);
        assert_eq!(codes(&format!("<a{outer}>{uses}</a>")), []);
        assert_eq!(
            codes(&format!("<a{outer}><p{count}:b/></a>")),
            [FormCode::UnboundPrefix]
        );
        let behind = format!("<a><b{outer}/>{uses}</a>");
        assert_eq!(
            codes(&behind),
            vec![FormCode::UnboundPrefix; count],
            "{behind}"
        );
    }
}

#[test]
fn the_innermost_declaration_counts() {
    for count in [1, 2, 12, 13, 40] {
        let outer = declared(count);
        // `q` stands for what `p0` stands for around, and not inside.
        let twice = "p0:c='1' q:c='2'";
        let text = format!(
            "<a{outer} xmlns:q='urn:0'><b {twice}/><b xmlns:p0='urn:other' {twice}/><b {twice}/></a>"
        );
        assert_eq!(codes(&text), [FormCode::DuplicateAttribute; 2], "{text}");
    }
}

#[test]
fn names_that_look_alike_at_a_glance_are_told_apart() {
    let names: Vec<String> = ('a'..='z')
        .flat_map(|c| [format!("{c}x"), format!("x{c}")])
        .collect();
    for (at, one) in names.iter().enumerate() {
        for other in &names[at..] {
            let text = format!("<a xmlns:p='u' xmlns:q='u' p:{one}='1' q:{other}='2'/>");
            assert_eq!(codes(&text).len(), usize::from(one == other), "{text}");
            let text = format!("<a {one}='1' {other}='2'/>");
            assert_eq!(codes(&text).len(), usize::from(one == other), "{text}");
        }
    }
}
