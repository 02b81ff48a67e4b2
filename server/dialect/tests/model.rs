//! What a dialect file says arrives in the model.

use dialect::{
    AttributeDecl, ChildRule, Choice, Context, ControlKind, Dialect, Easing, Ends, ItemType, Kept,
    Kind, Learnt, Order, Property, RotationForm, Rule, SceneBounds, Window,
};

fn read(toml: &str) -> Dialect {
    let toml = format!("[dialect]\nname = \"quay\"\nformat = 1\n{toml}");
    Dialect::read(&toml, None).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn rig(declarations: &str) -> Dialect {
    read(&format!(
        "[[document]]\nname = \"rig\"\nroot = \"rig\"\n{declarations}"
    ))
}

#[test]
fn children_have_counts_and_order() {
    let dialect = rig(
        "[element.rig]\nchildren = [\"a\", \"b?\", \"c*\", \"d+\", \"e{2}\", \"f{2,}\", \"g{0,3}\"]\norder = \"listed\"\n\
         [element.a]\n[element.b]\n[element.c]\n[element.d]\n[element.e]\n[element.f]\n[element.g]\n",
    );
    let element = dialect
        .element(dialect.root_context(&dialect.documents[0]))
        .unwrap();
    let counts: Vec<(&str, u32, Option<u32>)> = element
        .children
        .iter()
        .map(|ChildRule { name, min, max }| (name.as_str(), *min, *max))
        .collect();
    assert_eq!(
        counts,
        [
            ("a", 1, Some(1)),
            ("b", 0, Some(1)),
            ("c", 0, None),
            ("d", 1, None),
            ("e", 2, Some(2)),
            ("f", 2, None),
            ("g", 0, Some(3)),
        ]
    );
    assert_eq!(element.order, Order::Listed);
    assert!(!element.open);
}

#[test]
fn attributes_keep_the_order_of_the_file_and_all_they_say() {
    let dialect = rig("[element.rig]\n[element.rig.attributes]\nzeta = \"text\"\n\
         alpha = { type = \"number\", required = true, usual = 0.5, default = \"1\", doc = \" Says. \", strict = false }\n");
    let element = &dialect.elements()[0];
    let names: Vec<&str> = element
        .attributes
        .iter()
        .map(|known| known.name.as_str())
        .collect();
    assert_eq!(names, ["zeta", "alpha"]);
    let alpha: &AttributeDecl = element.attribute("alpha").unwrap();
    assert_eq!(alpha.doc, "Says.");
    assert!(alpha.required && !alpha.strict);
    assert_eq!(alpha.usual.as_deref(), Some("0.5"));
    assert_eq!(alpha.default.as_deref(), Some("1"));
}

#[test]
fn learnt_records_are_kept() {
    let rule = |name: &str, max| ChildRule {
        name: name.into(),
        min: 0,
        max,
    };
    let dialect = rig(
        "[element.rig]\nlearnt = { seen = 3, of = 4, files = 2, foreign = 7, range = { min = -1, max = 2.5 }, places = [\"a.xml:1\"], exceptions = \"b.xml:2\", kept = { children = [\"rig?\", \"(a | b)*\"], order = \"listed\", text = true } }\n[element.rig.attributes]\n\
         a = { type = \"text\", learnt = { seen = 5, values = { z = 4, b = 1 }, besides = [\"\", \"c\"] } }\n",
    );
    let element = &dialect.elements()[0];
    assert_eq!(
        element.learnt,
        Some(Learnt {
            seen: 3,
            of: 4,
            files: 2,
            range: Some((-1.0, 2.5)),
            values: Vec::new(),
            places: vec!["a.xml:1".into()],
            exceptions: vec!["b.xml:2".into()],
            besides: None,
            foreign: 7,
            kept: Some(Kept {
                children: vec![rule("rig", Some(1)), rule("a", None), rule("b", None)],
                choices: vec![Choice {
                    members: 1..3,
                    min: 0,
                    max: None,
                }],
                order: Order::Listed,
                text: true,
            }),
        })
    );
    let record = element.attributes[0].learnt.as_ref().unwrap();
    assert_eq!(record.values, &[("z".into(), 4), ("b".into(), 1)]);
    assert_eq!(record.besides, Some(vec!["".into(), "c".into()]));
}

#[test]
fn words_and_inputs_keep_their_explanations_and_order() {
    let dialect = rig(
        "[element.rig]\n[words.knot]\nhitch = \"Holds.\"\nbend = \"\"\n[inputs]\nanalog = [\"b\", \"a\"]\n",
    );
    let list = &dialect.word_lists[0];
    assert_eq!(list.texts().collect::<Vec<_>>(), ["hitch", "bend"]);
    assert_eq!(list.get("hitch").unwrap().doc, "Holds.");
    assert_eq!(
        dialect.inputs.analog.texts().collect::<Vec<_>>(),
        ["b", "a"]
    );
    assert_eq!(dialect.inputs.kind_of("a"), Some(ControlKind::Analog));
    assert_eq!(dialect.inputs.kind_of("c"), None);
}

#[test]
fn nodes_accept_all_aliases_unless_they_say_otherwise() {
    let dialect = rig(
        "[element.rig]\nchildren = [\"n*\"]\n[element.rig.attributes]\na = \"node\"\n\
         b = { type = \"node\", accepts = \"index-path\" }\n\
         [element.n.attributes]\nname = { type = \"name\", of = \"handle\" }\npath = \"index-path\"\n\
         [[role.alias]]\nat = \"rig/n\"\nname = \"@name\"\npath = \"@path\"\n",
    );
    let item = |name: &str| {
        dialect.elements()[0]
            .attribute(name)
            .unwrap()
            .value
            .item
            .clone()
    };
    assert_eq!(
        item("a"),
        ItemType::Node {
            aliases: [Kind::new("handle")].into(),
            index_path: true,
            node_name: false,
        }
    );
    assert_eq!(
        item("b"),
        ItemType::Node {
            aliases: [].into(),
            index_path: true,
            node_name: false,
        }
    );
}

#[test]
fn a_role_gives_a_number_its_unit() {
    let dialect = rig(
        "[units]\nlength = \"cm\"\n[element.rig.attributes]\nnode = \"node\"\nradius = \"number\"\n\
         [[role.wheel]]\nat = \"rig\"\nnode = \"@node\"\nradius = \"@radius\"\n",
    );
    let radius = dialect.elements()[0].attribute("radius").unwrap();
    assert_eq!(dialect.describe(&radius.value), "a number, in centimetres");
}

#[test]
fn the_house_dialect_plays_every_role() {
    let house = Dialect::house();
    let roles = &house.roles;
    assert_eq!(roles.aliases[0].kind, Kind::new("alias"));
    assert_eq!(roles.wheels[0].kind, Kind::new("wheel"));
    assert_eq!(roles.sounds[0].kind, Kind::new("sound"));
    assert_eq!(roles.animations[0].kind, Kind::new("animation"));
    assert_eq!((roles.scenes.len(), roles.listings.len()), (1, 1));
    let channel = &roles.channels[0];
    assert!(matches!(channel.window, Some(Window::Pair { .. })));
    assert_eq!(
        channel.easing.as_ref().unwrap().meaning("smooth"),
        Some(Easing::Smooth)
    );
    let Rule::Read(rule) = &channel.motions[0].property else {
        panic!("the property is a word");
    };
    assert_eq!(rule.meaning("visibility"), Some(Property::Visibility));
    assert_eq!(rule.word(Property::Rotation), Some("rotation"));
    let kinds: Vec<_> = roles
        .controls
        .iter()
        .map(|role| role.kind.clone())
        .collect();
    assert_eq!(
        kinds,
        [
            Rule::Fixed(ControlKind::Digital),
            Rule::Fixed(ControlKind::Analog)
        ]
    );
}

#[test]
fn house_elements_are_found_by_where_they_stand() {
    let house = Dialect::house();
    let found = |path: &str| {
        let context = path.split('/').fold(Context::DOCUMENT, |context, name| {
            house.child_context(context, name)
        });
        house.element(context).map(|element| element.key.as_str())
    };
    assert_eq!(found("machine"), Some("/machine"));
    assert_eq!(found("mod/machine"), Some("mod/machine"));
    assert_eq!(found("machine/wheels/wheel"), Some("wheel"));
    assert_eq!(found("machine/machine"), None);
    assert_eq!(found("machine/wheels/whel"), None);
}

#[test]
fn every_part_of_the_house_dialect_is_explained() {
    for element in Dialect::house().elements() {
        assert!(!element.doc.is_empty(), "{}", element.key);
        for value in element.attributes.iter().chain(&element.text) {
            assert!(!value.doc.is_empty(), "{} {}", element.key, value.name);
        }
    }
}

#[test]
fn scenes_have_their_own_habits() {
    let dialect = rig(
        "[notation]\ndecimal-mark = \",\"\nyes = \"aye\"\nno = \"nay\"\neuler = \"zyx\"\n[units]\nlength = \"cm\"\n[element.rig]\n\
         [scene]\nroot = \"tree\"\nnode = \"limb\"\ndecimal-mark = \".\"\nbounds = \"@box\"\n\
         [scene.units]\nangle = \"rad\"\n",
    );
    let scene = dialect.scene_format.unwrap();
    assert_eq!(scene.numbers.read("1.5"), Some(1.5));
    assert_eq!(scene.yes, ["aye"]);
    assert_eq!(scene.units.of(dialect::Quantity::Length).name, "cm");
    assert_eq!(scene.units.of(dialect::Quantity::Angle).name, "rad");
    assert_eq!(
        scene.rotation_form,
        RotationForm::Euler(dialect::EulerOrder::Zyx)
    );
    assert!(matches!(scene.bounds, Some(SceneBounds::List(_))));
    assert_eq!(scene.top.as_str(), ".");
}

#[test]
fn the_yard_plays_its_roles_with_lists_and_texts() {
    let toml = include_str!("../../../corpus/dialects/yard/yard.dialect.toml");
    let yard = Dialect::read(toml, None).unwrap();
    let channel = &yard.roles.channels[0];
    assert_eq!(channel.node.as_str(), "spot/text()");
    assert!(matches!(channel.window, Some(Window::List(_))));
    assert_eq!(channel.motions.len(), 4);
    assert!(matches!(channel.motions[1].ends, Ends::List(_)));
    assert_eq!(channel.motions[1].property, Rule::Fixed(Property::Rotation));
    let wheels = &yard.roles.wheels[0];
    assert_eq!(
        (wheels.name.as_ref(), wheels.kind.as_str()),
        (None, "wheel")
    );
}

#[test]
fn names_have_a_scope() {
    let dialect = rig(r#"
[element.rig.attributes]
plain = { type = "name", of = "rope" }
wide = { type = "name", of = "post", scope = "folder" }
again = { type = "name", of = "post" }
"#);
    let scope = |kind: &str| dialect.name_scope(&dialect::Kind::new(kind));
    assert_eq!(scope("rope"), dialect::NameScope::Document);
    assert_eq!(scope("post"), dialect::NameScope::Folder);
}

#[test]
fn children_may_stand_for_each_other() {
    let dialect = rig(
        "[element.rig]\nchildren = [\"a\", \"b | c+\", \"(d | e?)*\", \"( f | g )?\"]\norder = \"listed\"\n\
         [element.a]\n[element.b]\n[element.c]\n[element.d]\n[element.e]\n[element.f]\n[element.g]\n",
    );
    let element = dialect
        .element(dialect.root_context(&dialect.documents[0]))
        .unwrap();
    let counts = element.children.iter().map(|rule| (rule.min, rule.max));
    let any = (0, None);
    let single = (0, Some(1));
    assert_eq!(
        counts.collect::<Vec<_>>(),
        [(1, Some(1)), single, any, any, single, single, single]
    );
    let choices = element.choices.iter();
    let choices = choices.map(|choice| (choice.members.clone(), choice.min, choice.max));
    assert_eq!(
        choices.collect::<Vec<_>>(),
        [(1..3, 1, Some(1)), (3..5, 0, None), (5..7, 0, Some(1))]
    );
    let ranks: Vec<usize> = (0..7).map(|child| element.rank(child)).collect();
    assert_eq!(ranks, [0, 1, 1, 3, 3, 5, 5]);
    // One sort of them, as often as it likes; or so many of all of them.
    assert!(element.choices[0].is_met(&[0, 0, 5, 0, 0, 0, 0]));
    assert!(!element.choices[0].is_met(&[0, 1, 1, 0, 0, 0, 0]));
    assert!(!element.choices[0].is_met(&[9, 0, 0, 9, 9, 9, 9]));
    assert!(element.choices[1].is_met(&[0, 0, 0, 3, 4, 0, 0]));
}

#[test]
fn nodes_may_be_called_by_their_names_in_the_scene() {
    let grammar = "[element.rig.attributes]\nnode = { type = \"node\", accepts = [\"node-name\", \"index-path\"] }\nonly = \"node-name\"\n";
    let dialect = rig(&format!(
        "[notation.node-name]\nseparator = \"|\"\nfrom = \"root\"\n{grammar}"
    ));
    let notation = &dialect.notation.node_names;
    assert_eq!(notation.separator.as_deref(), Some("|"));
    assert!(notation.from_root);
    let value = |name: &str| &dialect.elements()[0].attribute(name).unwrap().value;
    assert_eq!(
        dialect.describe(value("only")),
        "the names from the root of the scene down to a node, with `|` between them"
    );
    assert!(
        dialect
            .check_value(value("only"), "hull|boom", None)
            .is_empty()
    );
    assert_eq!(dialect.check_value(value("only"), " ", None).len(), 1);
    // What looks like an index path must be one, where one may stand.
    assert_eq!(dialect.check_value(value("node"), "0//1", None).len(), 1);
    assert!(dialect.check_value(value("only"), "0//1", None).is_empty());
    // Kinds of names cannot be called so.
    let kind = "[element.rig.attributes]\na = { type = \"name\", of = \"node-name\" }\n";
    let toml = format!(
        "[dialect]\nname = \"a\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n{kind}"
    );
    assert!(Dialect::read(&toml, None).is_err());
}
