//! `yardless import`: a book, and a plan of it, put into the service's database as new revisions.

use std::path::Path;

use yardless_check::check;
use yardless_edit::trouble::{OfStore, Trouble};
use yardless_edit::{book_file, plan_file};
use yardless_service::store::{Added, Kind, Store};
use yardless_view::breach::{first, says};

use crate::answer::Answer;
use crate::args::ImportArgs;

/// Who puts it in, as revisions tell it.
const WHO: &str = "the command line";

/// Puts in what reads without fault, all or nothing.
pub fn run(book: &Path, args: &ImportArgs) -> Result<Answer, Trouble> {
    let file = book_file::read(book)?;
    let plan = match &args.plan {
        None => None,
        Some(path) => {
            let stored = plan_file::read(path)?;
            let shop = stored.shop(&file, None)?;
            let breaches = check(&shop, &stored.plan).breaches;
            if let Some(first) = first(&shop, &breaches) {
                let (plan, first) = (path.display().to_string(), says(&shop, first));
                return Err(OfStore::PlanBreaks { plan, first }.into());
            }
            Some((path, plan_file::json(&stored.plan)))
        }
    };
    let store = Store::open(&args.db.db)?;
    let mut text = put(&store, Kind::Book, book, file.text())?;
    if let Some((path, plan)) = plan {
        text += &put(&store, Kind::Plan, path, &plan)?;
    }
    Ok(Answer::new(text))
}

/// Puts a book or a plan in as a new revision; what is there already is left.
pub fn put(store: &Store, kind: Kind, path: &Path, new: &str) -> Result<String, Trouble> {
    let latest = store.latest(kind)?;
    if latest.as_ref().is_some_and(|(_, text)| text == new) {
        return Ok(format!("The {} is there already, as it is.\n", kind.name()));
    }
    let from = latest.map(|(revision, _)| revision.number);
    match store.add(kind, from, WHO, &format!("Put in from {}", path.display()), new, None)? {
        Added::Kept(revision) => {
            Ok(format!("Put {} in as state {} of the {}.\n", path.display(), revision.number, kind.name()))
        }
        Added::Stale | Added::Twice => Err(OfStore::Changed { kind: kind.name() }.into()),
    }
}
