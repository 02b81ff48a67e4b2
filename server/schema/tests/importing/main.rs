//! What becomes of each construct of XML Schema. Every result is read back.

mod types;

use expect_test::{Expect, expect};
use schema::{File, import};

/// The dialect without its first part, and the notes.
fn check(body: &str, expected: Expect) {
    check_files(&[("main.xsd", &schema(body))], expected);
}

fn schema(body: &str) -> String {
    format!("<xs:schema xmlns:xs='http://www.w3.org/2001/XMLSchema'>{body}</xs:schema>")
}

fn check_files(files: &[(&str, &str)], expected: Expect) {
    let file = |name: &str| {
        let (name, text) = files.iter().find(|(known, _)| *known == name)?;
        Some(File {
            name: (*name).to_owned(),
            text: (*text).to_owned(),
        })
    };
    let mut load = |_: &str, location: &str| file(location).ok_or("it is not there".to_owned());
    let main = file("main.xsd").expect("there is a main file");
    let imported = match import(main, &[], &mut load) {
        Ok(imported) => imported,
        Err(error) => return expected.assert_eq(&format!("{error}\n")),
    };
    if let Err(problems) = dialect::Dialect::read(&imported.toml, None) {
        panic!("{problems:#?}\n{}", imported.toml);
    }
    let (_, elements) = imported
        .toml
        .split_once("format = 1\n")
        .expect("it has a head");
    let notes = imported.notes.iter().map(|note| format!("note: {note}\n"));
    let notes: String = notes.collect();
    expected.assert_eq(&format!("{}\n{notes}", elements.trim_start()));
}

#[test]
fn elements_attributes_and_their_documentation() {
    check(
        "<xs:element name='quay'>
           <xs:annotation><xs:documentation>Where ships
             lie.</xs:documentation></xs:annotation>
           <xs:complexType>
             <xs:sequence>
               <xs:element name='berth' maxOccurs='unbounded' type='Berth'/>
               <xs:element name='crane' minOccurs='0' maxOccurs='3' type='xs:string'/>
               <xs:element name='depth' type='xs:decimal'/>
             </xs:sequence>
             <xs:attribute name='open' type='xs:boolean' use='required'/>
           </xs:complexType>
         </xs:element>
         <xs:complexType name='Berth'>
           <xs:annotation><xs:documentation>A place at the quay.</xs:documentation></xs:annotation>
           <xs:attribute name='length' type='xs:double' default='30'>
             <xs:annotation><xs:documentation>In metres.</xs:documentation></xs:annotation>
           </xs:attribute>
           <xs:attribute name='side' fixed='port'/>
         </xs:complexType>",
        expect![[r#"
            [notation]
            yes = ["true", "1"]
            no = ["false", "0"]

            [[document]]
            name = "quay"
            root = "quay"
            namespace = ""

            [element.quay]
            doc = "Where ships lie."
            children = ["berth+", "crane{0,3}", "depth"]
            order = "listed"
            attributes.open = { type = "boolean", required = true }

            [element.berth]
            doc = "A place at the quay."

            [element.berth.attributes]
            length = { type = "number", default = "30", doc = "In metres." }
            side = { type = "word", words = ["port"], default = "port" }

            [element.crane]
            text = "text"

            [element.depth]
            text = { type = "number", required = true }

            note: INF and NaN, which float and double allow, are no numbers in a dialect.
        "#]],
    );
}

#[test]
fn the_same_name_in_different_places() {
    check(
        "<xs:element name='rig'>
           <xs:complexType><xs:sequence>
             <xs:element name='part'><xs:complexType><xs:sequence>
               <xs:element name='part'><xs:complexType><xs:attribute name='weight' type='xs:double'/></xs:complexType></xs:element>
               <xs:element name='name' type='xs:int'/>
             </xs:sequence></xs:complexType></xs:element>
             <xs:element name='wheel'><xs:complexType><xs:sequence>
               <xs:element name='name' type='xs:token'/>
             </xs:sequence></xs:complexType></xs:element>
             <xs:element name='sound'><xs:complexType><xs:sequence>
               <xs:element name='name' type='xs:token'/>
             </xs:sequence></xs:complexType></xs:element>
           </xs:sequence></xs:complexType>
         </xs:element>",
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = ""

            [element.rig]
            children = ["part", "wheel", "sound"]
            order = "listed"

            [element.part]
            children = ["part", "name"]
            order = "listed"

            [element."part/part"]
            attributes.weight = "number"

            [element.wheel]
            children = ["name"]

            [element.sound]
            children = ["name"]

            [element.name]
            text = "text"

            [element."part/name"]
            text = { type = "integer", min = -2147483648, max = 2147483647, required = true }

            note: INF and NaN, which float and double allow, are no numbers in a dialect.
        "#]],
    );
}

#[test]
fn models_that_are_loosened() {
    check(
        "<xs:element name='rig'>
           <xs:complexType><xs:sequence>
             <xs:choice><xs:element ref='a'/><xs:element ref='b'/></xs:choice>
             <xs:element name='any-order'><xs:complexType><xs:all>
               <xs:element ref='a'/><xs:element ref='b' minOccurs='0'/>
             </xs:all></xs:complexType></xs:element>
             <xs:element name='pairs'><xs:complexType>
               <xs:sequence maxOccurs='unbounded'><xs:element ref='a'/><xs:element ref='b'/></xs:sequence>
             </xs:complexType></xs:element>
             <xs:element name='open'><xs:complexType><xs:sequence>
               <xs:element ref='a'/><xs:any processContents='skip'/>
             </xs:sequence></xs:complexType></xs:element>
           </xs:sequence></xs:complexType>
         </xs:element>
         <xs:element name='a' type='xs:string'/>
         <xs:element name='b' type='xs:string'/>",
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = ""

            [element.rig]
            children = ["a | b", "any-order", "pairs", "open"]
            order = "listed"

            [element.a]
            text = "text"

            [element.b]
            text = "text"

            [element.any-order]
            children = ["a", "b?"]

            # A choice or a repeated group; counts and order are looser than in the schema.
            [element.pairs]
            children = ["a+", "b+"]

            # A choice or a repeated group; counts and order are looser than in the schema.
            [element.open]
            children = ["a+"]
            open = true

            note: these could be roots of documents too and are not taken for such; `--root NAME` says which are: a, b.
            note: a choice or a repeated group; counts and order are looser than in the schema: pairs, open.
        "#]],
    );
}

#[test]
fn what_is_asked_for_more_often_than_it_may_stand() {
    check(
        "<xs:element name='rig'><xs:complexType><xs:sequence>
           <xs:element name='a' type='xs:string' maxOccurs='0'/>
           <xs:element name='b' type='xs:string' minOccurs='5' maxOccurs='2'/>
         </xs:sequence></xs:complexType></xs:element>",
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = ""

            [element.rig]
            children = ["b{2}"]

            [element.b]
            text = "text"

            note: `minOccurs` asks for more than `maxOccurs` allows; what is allowed counts: a, b.
        "#]],
    );
}

#[test]
fn groups_and_substitutes() {
    check(
        "<xs:element name='rig'><xs:complexType><xs:sequence>
           <xs:group ref='Parts' minOccurs='0'/>
           <xs:element ref='thing' maxOccurs='unbounded'/>
         </xs:sequence></xs:complexType></xs:element>
         <xs:group name='Parts'><xs:sequence><xs:element name='part' type='Thing'/></xs:sequence></xs:group>
         <xs:element name='thing' abstract='true' type='Thing'/>
         <xs:element name='lamp' substitutionGroup='thing'/>
         <xs:element name='horn' substitutionGroup='lamp' type='Horn'/>
         <xs:complexType name='Thing' abstract='true'><xs:attribute name='id' type='xs:ID' use='required'/></xs:complexType>
         <xs:complexType name='Lamp'><xs:complexContent><xs:extension base='Thing'>
           <xs:attribute name='near' type='xs:IDREF'/>
         </xs:extension></xs:complexContent></xs:complexType>
         <xs:complexType name='Horn'><xs:complexContent><xs:extension base='Thing'>
           <xs:attribute name='all' type='xs:IDREFS'/>
         </xs:extension></xs:complexContent></xs:complexType>",
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = ""

            [element.rig]
            children = ["part?", "(lamp | horn)+"]
            order = "listed"

            # It may be of several types; what any of them allows is allowed.
            [element.part]

            [element.part.attributes]
            id = { type = "name", of = "id", required = true }
            near = { type = "reference", of = "id" }
            all = { type = "reference", of = "id", list = { min = 1 } }

            # It may be of several types; what any of them allows is allowed.
            [element.lamp]

            [element.lamp.attributes]
            id = { type = "name", of = "id", required = true }
            near = { type = "reference", of = "id" }
            all = { type = "reference", of = "id", list = { min = 1 } }

            [element.horn]

            [element.horn.attributes]
            id = { type = "name", of = "id", required = true }
            all = { type = "reference", of = "id", list = { min = 1 } }

            note: these could be roots of documents too and are not taken for such; `--root NAME` says which are: lamp, horn.
            note: it may be of several types; what any of them allows is allowed: part, lamp.
        "#]],
    );
}

#[test]
fn keys_become_names_where_their_scope_is_the_document() {
    check(
        "<xs:element name='rig'>
           <xs:complexType><xs:sequence>
             <xs:element name='link' maxOccurs='unbounded' type='Named'/>
             <xs:element name='joint' maxOccurs='unbounded'>
               <xs:complexType><xs:sequence>
                 <xs:element name='from'><xs:complexType><xs:attribute name='link' type='xs:string'/></xs:complexType></xs:element>
                 <xs:element name='pin' maxOccurs='unbounded' type='Named'/>
               </xs:sequence></xs:complexType>
               <xs:key name='Pin'><xs:selector xpath='pin'/><xs:field xpath='@name'/></xs:key>
             </xs:element>
           </xs:sequence></xs:complexType>
           <xs:key name='Link'><xs:selector xpath='link'/><xs:field xpath='@name'/></xs:key>
           <xs:keyref name='ToLink' refer='Link'><xs:selector xpath='.//from'/><xs:field xpath='@link'/></xs:keyref>
         </xs:element>
         <xs:complexType name='Named'><xs:attribute name='name' type='xs:string'/></xs:complexType>",
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = ""

            [element.rig]
            children = ["link+", "joint+"]
            order = "listed"

            [element.link]
            attributes.name = { type = "name", of = "Link", required = true }

            [element.joint]
            children = ["from", "pin+"]
            order = "listed"

            [element.from]
            attributes.link = { type = "reference", of = "Link" }

            [element.pin]
            attributes.name = "text"

            note: names are unique in a document, not within an element; this key or reference is not kept: Pin.
        "#]],
    );
}

#[test]
fn files_namespaces_and_what_cannot_be_had() {
    let xs = "xmlns:xs='http://www.w3.org/2001/XMLSchema'";
    let main = format!(
        "<xs:schema {xs} xmlns='urn:a' xmlns:b='urn:b' targetNamespace='urn:a' elementFormDefault='qualified'>
           <xs:include schemaLocation='common.xsd'/>
           <xs:import namespace='urn:b' schemaLocation='b.xsd'/>
           <xs:import namespace='urn:c' schemaLocation='http://example.org/c.xsd'/>
           <xs:element name='rig'><xs:complexType><xs:sequence>
             <xs:element ref='b:other'/>
             <xs:element name='part' type='Part'/>
             <xs:element name='loose' form='unqualified' type='xs:int'/>
           </xs:sequence><xs:attribute ref='b:note'/></xs:complexType></xs:element>
         </xs:schema>"
    );
    let common = format!(
        "<xs:schema {xs}>
           <xs:complexType name='Part'><xs:attribute name='size' type='Size'/></xs:complexType>
           <xs:simpleType name='Size'><xs:restriction base='xs:string'>
             <xs:enumeration value='s'/><xs:enumeration value='l'/>
           </xs:restriction></xs:simpleType>
         </xs:schema>"
    );
    let b = format!(
        "<xs:schema {xs} targetNamespace='urn:b'>
           <xs:element name='other' type='xs:string'/><xs:attribute name='note' type='xs:string'/>
         </xs:schema>"
    );
    check_files(
        &[("main.xsd", &main), ("common.xsd", &common), ("b.xsd", &b)],
        expect![[r#"
            [[document]]
            name = "rig"
            root = "rig"
            namespace = "urn:a"

            [words]
            Size = ["s", "l"]

            # Attributes with a prefix are left alone, whatever the schema says about them.
            # Elements of another namespace than the root's are left alone.
            [element.rig]
            children = ["part"]

            [element.part]
            attributes.size = { type = "word", words = "Size" }

            note: a file was left out, since it is not there: http://example.org/c.xsd.
            note: attributes with a prefix are left alone, whatever the schema says about them: rig.
            note: elements of another namespace than the root's are left alone: rig.
        "#]],
    );
}

#[test]
fn definitions_that_hold_themselves_come_to_an_end() {
    check(
        "<xs:element name='node' type='Node'/>
         <xs:complexType name='Node'><xs:sequence>
           <xs:element name='node' type='Node' minOccurs='0' maxOccurs='unbounded'/>
           <xs:group ref='G'/>
         </xs:sequence><xs:attribute name='t' type='T'/></xs:complexType>
         <xs:group name='G'><xs:sequence><xs:group ref='G' minOccurs='0'/></xs:sequence></xs:group>
         <xs:simpleType name='T'><xs:restriction base='T'/></xs:simpleType>
         <xs:complexType name='C'><xs:complexContent><xs:extension base='C'/></xs:complexContent></xs:complexType>
         <xs:element name='c' type='C'/>
         <xs:element name='s' substitutionGroup='s'/>",
        expect![[r#"
            [[document]]
            name = "node"
            root = "node"
            namespace = ""

            [[document]]
            name = "c"
            root = "c"
            namespace = ""

            [[document]]
            name = "s"
            root = "s"
            namespace = ""

            # A choice or a repeated group; counts and order are looser than in the schema.
            [element.node]
            children = ["node*"]
            open = true
            attributes.t = "text"

            [element.c]
            text = "text"
            open = true

            [element.s]
            text = "text"
            open = true

            note: a choice or a repeated group; counts and order are looser than in the schema: node.
        "#]],
    );
}

#[test]
fn what_is_no_schema_is_refused() {
    check(
        "<xs:simpleType name='T'/>",
        expect![[r#"
        main.xsd: it declares no element that a document could begin with; name the schema that includes it.
    "#]],
    );
    check_files(
        &[("main.xsd", "<a/>")],
        expect![[r#"
        main.xsd: it is no XML Schema: it begins with <a>, not with <schema> in the namespace http://www.w3.org/2001/XMLSchema.
    "#]],
    );
    check_files(
        &[("main.xsd", "<a>")],
        expect![[r#"
        main.xsd: it is not well-formed: the root node was opened but never closed.
    "#]],
    );
    check(
        "<xs:element name='a b'/>",
        expect![[r#"
            main.xsd: `a b` in line 1 cannot be the name of an element.
        "#]],
    );
    check(
        "<xs:element name=''/>",
        expect![[r#"
            main.xsd: `` in line 1 cannot be the name of an element.
        "#]],
    );
    check(
        "<xs:element name='a'>\n<xs:complexType><xs:attribute name='p:q'/></xs:complexType></xs:element>",
        expect![[r#"
            main.xsd: `p:q` in line 2 cannot be the name of an attribute.
        "#]],
    );
    let deep = format!("{}{}", "<a>".repeat(5_000), "</a>".repeat(5_000));
    check_files(
        &[("main.xsd", &deep)],
        expect![[r#"
        main.xsd: its elements are nested in more than 100 levels.
    "#]],
    );
}
