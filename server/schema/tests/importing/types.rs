//! Simple types, and those made of others.

use super::check;
use expect_test::expect;

#[test]
fn simple_types() {
    check(
        "<xs:element name='winch'>
           <xs:complexType>
             <xs:attribute name='rope' type='Rope'/>
             <xs:attribute name='turns'>
               <xs:simpleType><xs:restriction base='xs:int'>
                 <xs:minInclusive value='1'/><xs:maxExclusive value='12'/>
               </xs:restriction></xs:simpleType>
             </xs:attribute>
             <xs:attribute name='foot' type='Three'/>
             <xs:attribute name='ropes'><xs:simpleType><xs:list itemType='Rope'/></xs:simpleType></xs:attribute>
             <xs:attribute name='either'><xs:simpleType><xs:union memberTypes='Rope xs:boolean'/></xs:simpleType></xs:attribute>
             <xs:attribute name='any'><xs:simpleType><xs:union memberTypes='Rope xs:date'/></xs:simpleType></xs:attribute>
             <xs:attribute name='code'>
               <xs:simpleType><xs:restriction base='xs:string'><xs:pattern value='[A-Z]+'/></xs:restriction></xs:simpleType>
             </xs:attribute>
             <xs:attribute name='way'>
               <xs:simpleType><xs:restriction base='xs:string'><xs:pattern value='in|out'/></xs:restriction></xs:simpleType>
             </xs:attribute>
           </xs:complexType>
         </xs:element>
         <xs:simpleType name='Rope'>
           <xs:restriction base='xs:NMTOKEN'>
             <xs:enumeration value='hemp'><xs:annotation><xs:documentation>Old.</xs:documentation></xs:annotation></xs:enumeration>
             <xs:enumeration value='wire'/>
           </xs:restriction>
         </xs:simpleType>
         <xs:simpleType name='Floats'><xs:list itemType='xs:float'/></xs:simpleType>
         <xs:simpleType name='Three'><xs:restriction base='Floats'><xs:length value='3'/></xs:restriction></xs:simpleType>",
        expect![[r#"
            [[document]]
            name = "winch"
            root = "winch"
            namespace = ""

            [words.Rope]
            hemp = "Old."
            wire = ""

            # any: dates and times are any text in a dialect.
            # any: the values that are proposed besides any text are not kept.
            # code: a pattern is not checked: [A-Z]+.
            [element.winch]

            [element.winch.attributes]
            rope = { type = "word", words = "Rope" }
            turns = { type = "integer", min = 1, below = 12 }
            foot = { type = "vector", count = 3 }
            ropes = { type = "word", words = "Rope", list = true }
            either = { type = "word", words = { hemp = "Old.", wire = "", true = "", 1 = "", false = "", 0 = "" } }
            any = "text"
            code = "text"
            way = { type = "word", words = ["in", "out"] }

            note: INF and NaN, which float and double allow, are no numbers in a dialect.
            note: dates and times are any text in a dialect: winch/@any.
            note: the values that are proposed besides any text are not kept: winch/@any.
            note: a pattern is not checked: winch/@code.
        "#]],
    );
}

#[test]
fn types_are_extended_and_restricted() {
    check(
        "<xs:element name='yard' type='Big'/>
         <xs:complexType name='Small'>
           <xs:sequence><xs:element name='a' type='xs:string'/></xs:sequence>
           <xs:attribute name='x' type='xs:int'/>
           <xs:attribute name='y' type='xs:int'/>
         </xs:complexType>
         <xs:complexType name='Middle'>
           <xs:complexContent><xs:restriction base='Small'>
             <xs:sequence><xs:element name='a' type='Measured'/></xs:sequence>
             <xs:attribute name='x' use='prohibited'/>
             <xs:attribute name='y' type='xs:int' use='required'/>
           </xs:restriction></xs:complexContent>
         </xs:complexType>
         <xs:complexType name='Big'>
           <xs:complexContent><xs:extension base='Middle'>
             <xs:sequence><xs:element name='b' minOccurs='0' type='xs:boolean'/></xs:sequence>
             <xs:attributeGroup ref='Dates'/>
           </xs:extension></xs:complexContent>
         </xs:complexType>
         <xs:complexType name='Measured'>
           <xs:simpleContent><xs:extension base='xs:double'><xs:attribute name='unit'/></xs:extension></xs:simpleContent>
         </xs:complexType>
         <xs:attributeGroup name='Dates'>
           <xs:attribute name='built' type='xs:date'/>
           <xs:anyAttribute namespace='##other'/>
         </xs:attributeGroup>",
        expect![[r#"
            [notation]
            yes = ["true", "1"]
            no = ["false", "0"]

            [[document]]
            name = "yard"
            root = "yard"
            namespace = ""

            # built: dates and times are any text in a dialect.
            [element.yard]
            children = ["a", "b?"]
            order = "listed"

            [element.yard.attributes]
            y = { type = "integer", min = -2147483648, max = 2147483647, required = true }
            built = "text"

            [element.a]
            text = { type = "number", required = true }
            attributes.unit = "text"

            [element.b]
            text = { type = "boolean", required = true }

            note: INF and NaN, which float and double allow, are no numbers in a dialect.
            note: dates and times are any text in a dialect: yard/@built.
        "#]],
    );
}

/// Types that are told apart by what they are made of: whole numbers stay whole, and words with others that are none.
#[test]
fn unions() {
    check(
        "<xs:element name='winch'>
           <xs:complexType>
             <xs:attribute name='whole'><xs:simpleType><xs:union memberTypes='xs:byte xs:short'/></xs:simpleType></xs:attribute>
             <xs:attribute name='mixed'><xs:simpleType><xs:union memberTypes='xs:byte xs:decimal'/></xs:simpleType></xs:attribute>
             <xs:attribute name='same'><xs:simpleType><xs:union memberTypes='xs:byte xs:byte'/></xs:simpleType></xs:attribute>
             <xs:attribute name='words'><xs:simpleType><xs:union memberTypes='Rope Chain'/></xs:simpleType></xs:attribute>
             <xs:attribute name='usual'><xs:simpleType><xs:union memberTypes='Rope xs:string'/></xs:simpleType></xs:attribute>
           </xs:complexType>
         </xs:element>
         <xs:simpleType name='Rope'><xs:restriction base='xs:token'><xs:enumeration value='hemp'/></xs:restriction></xs:simpleType>
         <xs:simpleType name='Chain'><xs:restriction base='xs:token'><xs:enumeration value='iron'/></xs:restriction></xs:simpleType>",
        expect![[r#"
            [[document]]
            name = "winch"
            root = "winch"
            namespace = ""

            # usual: the values that are proposed besides any text are not kept.
            [element.winch]

            [element.winch.attributes]
            whole = { type = "integer", min = -32768, max = 32767 }
            mixed = "number"
            same = { type = "integer", min = -128, max = 127 }
            words = { type = "word", words = ["hemp", "iron"] }
            usual = "text"

            note: the values that are proposed besides any text are not kept: winch/@usual.
        "#]],
    );
}

/// Least above greatest, and patterns that are words: what cannot be meant is left out, what can be said is said.
#[test]
fn facets() {
    check(
        "<xs:element name='winch'>
           <xs:complexType>
             <xs:attribute name='above'><xs:simpleType><xs:restriction base='xs:decimal'>
               <xs:minExclusive value='0'/><xs:maxInclusive value='2.5'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='turned'><xs:simpleType><xs:restriction base='xs:decimal'>
               <xs:minInclusive value='3'/><xs:maxInclusive value='2'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='none'><xs:simpleType><xs:restriction base='xs:decimal'>
               <xs:minInclusive value='3'/><xs:maxExclusive value='3'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='one'><xs:simpleType><xs:restriction base='xs:decimal'>
               <xs:minInclusive value='3'/><xs:maxInclusive value='3'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='of-text'><xs:simpleType><xs:restriction base='xs:string'>
               <xs:minInclusive value='3'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='answer'><xs:simpleType><xs:restriction base='xs:boolean'>
               <xs:pattern value='true|false'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='only-yes'><xs:simpleType><xs:restriction base='xs:boolean'>
               <xs:pattern value='true'/></xs:restriction></xs:simpleType></xs:attribute>
             <xs:attribute name='two'><xs:simpleType><xs:restriction base='xs:string'>
               <xs:pattern value='in|out'/><xs:pattern value='up'/></xs:restriction></xs:simpleType></xs:attribute>
           </xs:complexType>
         </xs:element>",
        expect![[r#"
            [notation]
            yes = ["true", "1"]
            no = ["false", "0"]

            [[document]]
            name = "winch"
            root = "winch"
            namespace = ""

            # of-text: a least or greatest value is not kept.
            # only-yes: a pattern is not checked: true.
            # two: a pattern is not checked: in|out.
            # two: a pattern is not checked: up.
            [element.winch]

            [element.winch.attributes]
            above = { type = "number", above = 0, max = 2.5 }
            turned = { type = "number", min = 3 }
            none = { type = "number", min = 3 }
            one = { type = "number", min = 3, max = 3 }
            of-text = "text"
            answer = { type = "boolean", yes = "true", no = "false" }
            only-yes = "boolean"
            two = "text"

            note: a least or greatest value is not kept: winch/@of-text.
            note: a pattern is not checked: winch/@only-yes, winch/@two.
        "#]],
    );
}
