//! A plan as an iCalendar file (RFC 5545): an all-day event for each visit. The same visit of the same plan has the same UID, so that a
//! calendar that reads the file again moves events instead of doubling them.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use icalendar::{Calendar, Component as _, Event, EventLike as _, EventStatus, Property};

use super::{
    ServicePlanRecord,
    feed::{PlanState, PlanVisit},
};
use crate::slices::shops::ShopId;

/// The file. `changed_at` is when the record last changed: the file of an unchanged plan never changes.
pub fn file(plan: &ServicePlanRecord, shops: &HashMap<ShopId, String>, changed_at: DateTime<Utc>) -> String {
    let mut calendar = Calendar::new();
    calendar.properties.retain(|property| property.key() != "PRODID");
    calendar.append_property(("PRODID", "-//Fullset//Service plan//EN"));
    calendar.append_property(("X-WR-CALNAME", line(&plan.name).as_str()));
    for visit in &plan.visits {
        calendar.push(event(plan, visit, shops, changed_at));
    }
    calendar.to_string()
}

fn event(plan: &ServicePlanRecord, visit: &PlanVisit, shops: &HashMap<ShopId, String>, changed_at: DateTime<Utc>) -> Event {
    let asked = &plan.asked;
    let shop = shops.get(&visit.shop).map_or("", String::as_str);
    let late = match visit.late {
        0 => String::new(),
        1 => "\n1 period late".into(),
        n => format!("\n{n} periods late"),
    };
    let mut event = Event::new();
    event
        .uid(&format!("{}.{}@fullset", plan.id, visit.set))
        .timestamp(changed_at)
        .last_modified(changed_at)
        .sequence(u32::try_from(plan.rev).unwrap_or(u32::MAX >> 1))
        .summary(&line(&format!("Annual service: {}", visit.name)))
        .description(&format!("{} hours at {shop}\nDue on {}{late}\n{}", visit.hours, visit.due_on, plan.name))
        .location(&line(shop))
        .starts(asked.day(visit.period))
        // The day after the last one: the end of an all-day event is exclusive.
        .ends(asked.day(visit.period + 1))
        .status(match plan.state {
            PlanState::Draft => EventStatus::Tentative,
            PlanState::Published => EventStatus::Confirmed,
            PlanState::Withdrawn => EventStatus::Cancelled,
        })
        // A week of service in the calendar keeps nobody busy.
        .append_property(Property::new("TRANSP", "TRANSPARENT").done());
    event.done()
}

/// A text without line ends.
fn line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}
