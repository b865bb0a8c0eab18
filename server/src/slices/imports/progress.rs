//! How far the imports have come that this process works on: counted beside the work and in memory alone, so that whoever asks waits
//! for nobody, least of all for the writer. Another process of the same service knows nothing of them.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};

use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    error::{self, Fault},
    ids::AgencyId,
};

/// So many imports at once are told of. One more is done all the same, only nobody is told how far it is.
const MOST: usize = 256;
/// The same of one agency, so that none takes the room of all.
const MOST_OF_AGENCY: usize = 16;

/// What is being done with a file, in the order in which it comes. Where the writer has to begin again, `matching` and what follows
/// come again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ImportStage {
    /// The file is being read.
    Reading,
    /// The file has been read and waits for its turn to be written: one command is applied at a time.
    Waiting,
    /// Its rows are compared with what the agency has.
    Matching,
    /// Its rows are being brought in. This stage alone is counted.
    Writing,
    /// All rows are in: the rigs and pieces that they touch are judged, and all of it is made durable, or undone after a dry run.
    Judging,
}

/// How far an import has come, or a dry run.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct ImportProgress {
    /// The id that it was sent under, in `Idempotency-Key`.
    id: Uuid,
    /// Whether nothing of it will be kept.
    dry_run: bool,
    /// What is being done.
    stage: ImportStage,
    /// How many rows have been brought in. None of them counts before the import is answered: then all do, or none.
    rows_done: usize,
    /// How many rows there are to bring in; null until the file has been compared with the register.
    rows: Option<usize>,
}

/// One import, or one dry run, while it lasts.
#[derive(Debug)]
pub(super) struct Run {
    agency: AgencyId,
    /// The id of its command. A dry run's is not the one that it was sent under: that one stays free for the import.
    command: Uuid,
    at: Mutex<ImportProgress>,
}

/// What is worked on now. A command's body is read where nothing of the service is at hand, so this is the process's own. An entry lasts as
/// long as the request or its command does: whoever leaves before the answer does not end the import.
static RUNS: Mutex<Vec<Weak<Run>>> = Mutex::new(Vec::new());

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes note of an import that begins. It is told of until what is answered here is dropped, and the command with it.
#[must_use]
pub(super) fn begin(agency: AgencyId, id: Uuid, command: Uuid, dry_run: bool) -> Arc<Run> {
    let at = ImportProgress {
        id,
        dry_run,
        stage: ImportStage::Reading,
        rows_done: 0,
        rows: None,
    };
    let run = Arc::new(Run {
        agency,
        command,
        at: Mutex::new(at),
    });
    let mut runs = held(&RUNS);
    runs.retain(|run| run.strong_count() > 0);
    let of_agency = runs.iter().filter_map(Weak::upgrade).filter(|run| run.agency == agency).count();
    if runs.len() < MOST && of_agency < MOST_OF_AGENCY {
        runs.push(Arc::downgrade(&run));
    }
    run
}

/// How far an agency's import has come; refused where this process does not work on it.
pub(super) fn shown(agency: AgencyId, id: Uuid) -> Result<ImportProgress, Fault> {
    // The first of several under one id: the others were sent again and wait for it.
    let at = held(&RUNS).iter().filter_map(Weak::upgrade).find_map(|run| {
        let at = *held(&run.at);
        (run.agency == agency && at.id == id).then_some(at)
    });
    at.ok_or_else(|| {
        let words = "No import under this id is being worked on here: it has not begun, has ended, or another process of the service works on it";
        Fault::new(error::NOT_FOUND, words).hint("Once it has ended well it is among the imports, under the same id")
    })
}

/// Whom a command tells how far it is: nobody, where nobody may ask.
#[derive(Debug, Clone, Default)]
pub(super) struct Told(Option<Arc<Run>>);

impl Told {
    /// Of the command that was made last with this id.
    pub(super) fn of_command(command: Uuid) -> Self {
        let runs = held(&RUNS);
        Self(runs.iter().rev().filter_map(Weak::upgrade).find(|run| run.command == command))
    }

    /// The same, where the command is this agency's.
    pub(super) fn within(self, agency: AgencyId) -> Self {
        Self(self.0.filter(|run| run.agency == agency))
    }

    fn tell(&self, change: impl FnOnce(&mut ImportProgress)) {
        if let Some(run) = &self.0 {
            change(&mut held(&run.at));
        }
    }

    /// The file has been read.
    pub(super) fn read(&self) {
        self.tell(|at| at.stage = ImportStage::Waiting);
    }

    /// The writer has begun with it.
    pub(super) fn matching(&self) {
        self.tell(|at| (at.stage, at.rows_done, at.rows) = (ImportStage::Matching, 0, None));
    }

    /// So many rows are going to be brought in.
    pub(super) fn writing(&self, rows: usize) {
        self.tell(|at| (at.stage, at.rows) = (ImportStage::Writing, Some(rows)));
    }

    /// One more row is in.
    pub(super) fn row(&self) {
        self.tell(|at| at.rows_done += 1);
    }

    /// All rows are in.
    pub(super) fn judging(&self) {
        self.tell(|at| at.stage = ImportStage::Judging);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn agency() -> AgencyId {
        AgencyId(Uuid::now_v7())
    }

    #[test]
    fn an_import_is_told_of_while_it_lasts_and_to_its_agency_alone() {
        let (ours, theirs, id) = (agency(), agency(), Uuid::now_v7());
        assert_eq!(shown(ours, id).unwrap_err().code, error::NOT_FOUND);
        let run = begin(ours, id, id, false);
        assert_eq!(shown(ours, id).unwrap().stage, ImportStage::Reading);
        assert_eq!(shown(theirs, id).unwrap_err().code, error::NOT_FOUND);
        // The request has gone, its command goes on.
        let told = Told::of_command(id).within(ours);
        drop(run);
        told.read();
        told.matching();
        told.writing(2);
        told.row();
        let at = shown(ours, id).unwrap();
        assert_eq!((at.stage, at.rows_done, at.rows), (ImportStage::Writing, 1, Some(2)));
        // Begun again, it has not come as far.
        told.matching();
        assert_eq!((shown(ours, id).unwrap().rows_done, shown(ours, id).unwrap().rows), (0, None));
        drop(told);
        assert_eq!(shown(ours, id).unwrap_err().code, error::NOT_FOUND);
    }

    #[test]
    fn a_dry_run_is_named_by_the_id_that_it_was_sent_under_and_worked_on_under_another() {
        let (ours, id, command) = (agency(), Uuid::now_v7(), Uuid::now_v7());
        let _run = begin(ours, id, command, true);
        Told::of_command(command).within(ours).read();
        assert_eq!(shown(ours, id).unwrap().stage, ImportStage::Waiting);
        assert_eq!(shown(ours, command).unwrap_err().code, error::NOT_FOUND);
        // Another agency's command that names the id tells nothing.
        Told::of_command(command).within(agency()).matching();
        assert_eq!(shown(ours, id).unwrap().stage, ImportStage::Waiting);
    }

    #[test]
    fn one_agency_leaves_room_for_the_others() {
        let (ours, theirs) = (agency(), agency());
        let ids: Vec<Uuid> = (0..=MOST_OF_AGENCY).map(|_| Uuid::now_v7()).collect();
        let _runs: Vec<Arc<Run>> = ids.iter().map(|id| begin(ours, *id, *id, false)).collect();
        let known = ids.iter().filter(|id| shown(ours, **id).is_ok()).count();
        assert_eq!(known, MOST_OF_AGENCY);
        let id = Uuid::now_v7();
        let _other = begin(theirs, id, id, false);
        assert!(shown(theirs, id).is_ok());
    }
}
