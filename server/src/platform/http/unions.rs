//! Unions of the document by name: every variant of a tagged union is a schema of its own, with a discriminator, so that each
//! generator of clients makes a tagged union of it; and the command, which is one of the kinds of the registry.

use serde_json::{Map, Value, json};

use crate::platform::{
    door::{Kind, Permission, Registry, RevisionNeed},
    http::caller::roles,
};

type Named = Map<String, Value>;

/// `service_plan.edit` as `ServicePlanEdit`.
fn pascal(word: &str) -> String {
    let words = word.split(['.', '_', '-', ' ']);
    words
        .map(|word| {
            let mut signs = word.chars();
            signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
        })
        .collect()
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{name}") })
}

/// The one word that a property of a variant can be.
fn only_word<'v>(variant: &'v Value, property: &str) -> Option<&'v str> {
    match variant.get("properties")?.get(property)?.get("enum")?.as_array()?.as_slice() {
        [only] => only.as_str(),
        _ => None,
    }
}

/// The property by which the variants are told apart.
fn tag(variants: &[Value]) -> Option<String> {
    let properties = variants.first()?.get("properties")?.as_object()?;
    let tag = properties
        .keys()
        .find(|property| variants.iter().all(|variant| only_word(variant, property).is_some()));
    tag.cloned()
}

/// Of a variant that is known by the one property it has: that property.
fn only_property(variant: &Value) -> Option<&str> {
    let properties = variant.get("properties")?.as_object()?;
    let mut names = properties.keys();
    let first = names.next()?;
    names.next().is_none().then_some(first.as_str())
}

/// Gives the variants of all unions among the schemas names of their own.
pub(super) fn name_variants(schemas: &mut Named) {
    let unions: Vec<String> = schemas
        .iter()
        .filter(|(_, schema)| schema.get("oneOf").is_some())
        .map(|(name, _)| name.clone())
        .collect();
    for union in unions {
        let Some(variants) = schemas.get(&union).and_then(|schema| schema.get("oneOf")).and_then(Value::as_array).cloned() else {
            continue;
        };
        let tag = tag(&variants);
        let word = |variant: &Value| match &tag {
            Some(tag) => only_word(variant, tag).map(str::to_owned),
            None => only_property(variant).map(str::to_owned),
        };
        let Some(words) = variants.iter().map(word).collect::<Option<Vec<String>>>() else {
            continue;
        };
        let names: Vec<String> = words.iter().map(|word| format!("{union}{}", pascal(word))).collect();
        for ((name, word), mut variant) in names.iter().zip(&words).zip(variants) {
            if let Some(property) = tag.as_ref().and_then(|tag| variant.get_mut("properties")?.get_mut(tag)) {
                *property = json!({ "type": "string", "const": word });
            }
            let before = schemas.insert(name.clone(), variant);
            debug_assert!(
                before.is_none(),
                "a variant and a type of the document are both called {name}: rename one of them"
            );
        }
        let Some(schema) = schemas.get_mut(&union).and_then(Value::as_object_mut) else {
            continue;
        };
        schema.insert("oneOf".into(), names.iter().map(|name| reference(name)).collect());
        if let Some(tag) = tag {
            let mapping: Named = words
                .iter()
                .zip(&names)
                .map(|(word, name)| (word.clone(), format!("#/components/schemas/{name}").into()))
                .collect();
            schema.insert("discriminator".into(), json!({ "propertyName": tag, "mapping": mapping }));
        }
    }
}

/// Says "this or null" as `anyOf`. As `oneOf` null would be held against the union's own discriminator too, which validators pass over
/// where there is no object, so that null would fit twice.
pub(super) fn let_null_be(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            let is_null = |choice: &Value| choice.get("type").is_some_and(|kind| kind == "null");
            let has_null = fields.get("oneOf").and_then(Value::as_array).is_some_and(|choices| choices.iter().any(is_null));
            if let Some(choices) = fields.remove("oneOf") {
                fields.insert(if has_null { "anyOf" } else { "oneOf" }.into(), choices);
            }
            fields.values_mut().for_each(let_null_be);
        }
        Value::Array(items) => items.iter_mut().for_each(let_null_be),
        _ => {}
    }
}

/// Whether a member can send a kind; the rest are the service's own.
fn is_open(needs: &[Permission]) -> bool {
    needs.iter().any(|needed| *needed != Permission::Service)
}

/// The bodies of all kinds that a member can send.
pub(super) fn bodies(registry: &Registry, schemas: &mut super::Schemas) {
    for (_, kind) in registry.kinds().filter(|(_, kind)| is_open(kind.needs)) {
        (kind.body)(schemas);
    }
}

/// Makes the kind of a record one of those that there are.
pub(super) fn name_records(registry: &Registry, schemas: &mut Named) {
    let kinds: Vec<&str> = registry.records().collect();
    schemas.insert(
        "RecordKind".into(),
        json!({
            "type": "string",
            "description": "What a record is. A later server may know more kinds, and answer one that is not in this list: a client passes over it.",
            "enum": kinds,
        }),
    );
}

/// Makes the command one of its kinds.
pub(super) fn name_commands(registry: &Registry, schemas: &mut Named) {
    let kinds: Vec<&str> = registry.kinds().map(|(name, _)| name).collect();
    schemas.insert(
        "CommandKind".into(),
        json!({
            "type": "string",
            "description": "What a command does. A later server may know more kinds, and history may name one that is not in this list: a client \
                 shows it by its word.",
            "enum": kinds,
        }),
    );
    let (mut choices, mut mapping) = (Vec::new(), Named::new());
    for (word, kind) in registry.kinds().filter(|(_, kind)| is_open(kind.needs)) {
        let name = format!("{}Command", pascal(word));
        let body = (kind.body)(&mut Vec::new());
        choices.push(reference(&name));
        mapping.insert(word.into(), format!("#/components/schemas/{name}").into());
        let before = schemas.insert(name.clone(), command(word, kind, &body));
        debug_assert!(before.is_none(), "a command and a type of the document are both called {name}: rename the type");
    }
    schemas.insert(
        "Command".into(),
        json!({
            "description": "One command as a client sends it: its kind says what its body holds.",
            "oneOf": choices,
            "discriminator": { "propertyName": "kind", "mapping": mapping },
        }),
    );
}

/// The schema of one kind.
fn command(word: &str, kind: &Kind, body: &str) -> Value {
    let Kind {
        summary,
        needs,
        reach,
        expects,
        ..
    } = kind;
    let mut required = vec!["id", "kind", "body"];
    let mut fields = json!({
        "id": { "type": "string", "format": "uuid", "description": "A UUIDv7 made by the client. Sent again, it acts once." },
        "kind": { "type": "string", "const": word },
        "at": { "type": ["string", "null"], "format": "date-time", "description": "When it was done, by the sender's clock; when it was sent, unless said." },
        "after": { "type": ["string", "null"], "format": "uuid", "description": "A command that must have been applied first." },
        "by": { "anyOf": [{ "type": "null" }, { "$ref": "#/components/schemas/Signed", "description": "On a shared tablet: the member who does it, by PIN." }] },
        "body": reference(body),
    });
    if let (Some(fields), Some(words)) = (fields.as_object_mut(), expects.words()) {
        let needed = matches!(expects, RevisionNeed::Needed(_));
        let mut choices = vec![
            json!({ "type": "integer", "format": "int64" }),
            json!({ "$ref": "#/components/schemas/LeftBy", "description": "In a chain made without a signal: the command that left the record so." }),
        ];
        if !needed {
            choices.push(json!({ "type": "null" }));
        }
        fields.insert("expects".into(), json!({ "anyOf": choices, "description": words }));
        if needed {
            required.push("expects");
        }
    }
    let mut schema = json!({
        "type": "object",
        "description": format!("{summary}. Open to {}{}.", roles(needs), reach.words()),
        "required": required,
        "properties": fields,
        "additionalProperties": false,
    });
    if let (Some(record), Some(schema)) = (expects.record(), schema.as_object_mut()) {
        schema.insert(
            "x-expects".into(),
            json!({ "record": record, "required": matches!(expects, RevisionNeed::Needed(_)) }),
        );
    }
    schema
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_variants_of_a_tagged_union_have_names_and_a_discriminator() {
        let variant = |word: &str| json!({ "type": "object", "properties": { "at": { "type": "string", "enum": [word] }, "more": {} } });
        let mut schemas = Named::new();
        schemas.insert(
            "Place".into(),
            json!({ "oneOf": [variant("rig"), variant("own_shelf")], "description": "Where." }),
        );
        name_variants(&mut schemas);
        assert_eq!(
            schemas["Place"],
            json!({
                "description": "Where.",
                "oneOf": [{ "$ref": "#/components/schemas/PlaceRig" }, { "$ref": "#/components/schemas/PlaceOwnShelf" }],
                "discriminator": { "propertyName": "at", "mapping": {
                    "rig": "#/components/schemas/PlaceRig", "own_shelf": "#/components/schemas/PlaceOwnShelf",
                } },
            })
        );
        assert_eq!(schemas["PlaceRig"]["properties"]["at"], json!({ "type": "string", "const": "rig" }));
    }

    #[test]
    fn a_choice_that_has_no_tag_is_left_as_it_is() {
        let mut schemas = Named::new();
        let choice = json!({ "oneOf": [{ "type": "null" }, { "$ref": "#/components/schemas/Signed" }] });
        schemas.insert("Maybe".into(), choice.clone());
        name_variants(&mut schemas);
        assert_eq!(schemas["Maybe"], choice);
    }
}
