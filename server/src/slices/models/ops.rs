use fullset_calc::{
    hookup::Hookup,
    ratings::{Figure, Kind, Ratings},
};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{Model, ModelId};
use crate::platform::{
    door::{Act, Permission, Write, name},
    error::Fault,
    record::Scope,
};

/// Adds a model.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddModel {
    /// Its id, made by the client.
    pub id: ModelId,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What it connects to.
    #[serde(default)]
    pub hookup: Hookup,
    /// What it is rated for.
    #[serde(default)]
    pub ratings: Ratings,
}

/// No figure of a rescue tool is larger, in whatever unit.
const MOST: f64 = 1e9;

/// Holds the standard and edition of each rating to a name's length.
pub fn sourced(field: &str, ratings: &Ratings) -> Result<(), Fault> {
    for (term, rating) in ratings.iter() {
        for (part, text) in [("standard", &rating.standard), ("edition", &rating.edition)] {
            if let Some(text) = text {
                name(&format!("{field}.{}.{part}", term.name()), text)?;
            }
        }
    }
    Ok(())
}

/// The plain sizes among ratings, each with its field.
pub fn values(ratings: &Ratings) -> impl Iterator<Item = (String, f64)> {
    ratings.iter().filter_map(|(term, rating)| match &rating.figure {
        Figure::Quantity(size) => Some((format!("body.ratings.{}", term.name()), size.value)),
        _ => None,
    })
}

fn sound(kind: Kind, hookup: &Hookup, ratings: &Ratings) -> Result<(), Fault> {
    let ratings_given = ratings;
    sourced("body.ratings", ratings)?;
    for (part, text) in [
        ("coupling", &hookup.coupling),
        ("tool_coupling", &hookup.tool_coupling),
        ("battery", &hookup.battery),
    ] {
        if let Some(text) = text {
            name(&format!("body.hookup.{part}"), text)?;
        }
    }
    let pressure = hookup.pressure.map(|size| ("body.hookup.pressure".to_owned(), size.value));
    let hookup = hookup
        .faults(kind)
        .into_iter()
        .map(|fault| (format!("body.hookup.{}", fault.field), fault.reason, fault.hint));
    let ratings = ratings
        .faults()
        .into_iter()
        .map(|fault| (format!("body.ratings.{}", fault.term.name()), fault.reason, fault.hint));
    let sizes = values(ratings_given).chain(pressure);
    if let Some((field, _)) = sizes.into_iter().find(|(_, value)| value.abs() > MOST) {
        return Err(Fault::field(field, "No tool measures so much; look at the plate again"));
    }
    match hookup.chain(ratings).next() {
        Some((field, reason, hint)) => Err(Fault {
            hint,
            ..Fault::field(field, reason)
        }),
        None => Ok(()),
    }
}

impl Act for AddModel {
    const KIND: &'static str = "model.add";
    const SUMMARY: &'static str = "Add a model to the catalogue";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        sound(self.kind, &self.hookup, &self.ratings)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Model>(self.id)?;
        let model = Model {
            id: self.id,
            name: name("body.name", &self.name)?,
            kind: self.kind,
            hookup: self.hookup,
            ratings: self.ratings,
            rev: 0,
        };
        write.save(model, Scope::default())
    }
}

/// Changes a model. Every rig is worked out again. Its kind stays: a piece does not turn from a ram into a hose.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditModel {
    /// The model.
    pub id: ModelId,
    /// New name.
    pub name: Option<String>,
    /// New hook-up, whole.
    pub hookup: Option<Hookup>,
    /// New ratings, whole.
    pub ratings: Option<Ratings>,
}

impl Act for EditModel {
    const KIND: &'static str = "model.edit";
    const SUMMARY: &'static str = "Change a model's name, hook-up or ratings";
    const NEEDS: &'static [Permission] = &[Permission::Plan];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Model>(self.id)?;
        write.expects(&stored)?;
        let mut model = stored.record;
        if let Some(given) = self.name {
            model.name = name("body.name", &given)?;
        }
        let same = self.hookup.is_none() && self.ratings.is_none();
        model.hookup = self.hookup.unwrap_or(model.hookup);
        model.ratings = self.ratings.unwrap_or(model.ratings);
        sound(model.kind, &model.hookup, &model.ratings)?;
        write.save(model, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}
