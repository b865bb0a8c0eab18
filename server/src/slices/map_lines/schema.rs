//! Lists in lists, for the document: it says of each how long it is.

use utoipa::{
    PartialSchema, ToSchema,
    openapi::{ArrayBuilder, KnownFormat, ObjectBuilder, Ref, RefOr, Schema, SchemaFormat, schema::Type},
};

use super::rules::{MOST_LINES, MOST_POINTS};

/// Longitude and latitude.
#[derive(Debug)]
pub struct MapPoint;

impl PartialSchema for MapPoint {
    fn schema() -> RefOr<Schema> {
        let degrees = ObjectBuilder::new()
            .schema_type(Type::Number)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Double)));
        ArrayBuilder::new()
            .items(degrees)
            .min_items(Some(2))
            .max_items(Some(2))
            .description(Some("A point: its longitude, then its latitude, in WGS 84 degrees, and no height."))
            .into()
    }
}

impl ToSchema for MapPoint {}

/// The points along a line.
#[derive(Debug)]
pub struct MapLine;

impl PartialSchema for MapLine {
    fn schema() -> RefOr<Schema> {
        ArrayBuilder::new()
            .items(Ref::from_schema_name(MapPoint::name()))
            .min_items(Some(2))
            .max_items(Some(MOST_POINTS))
            .description(Some("The points along a line, or around an area or a hole in it."))
            .into()
    }
}

impl ToSchema for MapLine {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((MapPoint::name().into_owned(), MapPoint::schema()));
    }
}

/// An outline and the holes in it.
#[derive(Debug)]
pub struct MapArea;

impl PartialSchema for MapArea {
    fn schema() -> RefOr<Schema> {
        ArrayBuilder::new()
            .items(Ref::from_schema_name(MapLine::name()))
            .min_items(Some(1))
            .max_items(Some(MOST_LINES))
            .description(Some("The outline of an area, then the holes in it."))
            .into()
    }
}

impl ToSchema for MapArea {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((MapLine::name().into_owned(), MapLine::schema()));
        MapLine::schemas(schemas);
    }
}
