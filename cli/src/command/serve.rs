//! `yardless serve`: the sheets, the forms and the questions on a screen.

use std::sync::Arc;

use crate::answer::Answer;
use crate::args::ServeArgs;
use crate::store::Store;
use crate::trouble::Trouble;
use crate::web::{self, Desk, Settings};

/// Serves until it is told to stop.
pub fn run(args: &ServeArgs) -> Result<Answer, Trouble> {
    let store = Store::open(&args.db.db)?;
    let settings = Settings { now: args.now, proxied: args.proxied };
    let link = if args.link || !store.has_owner()? { Some(web::owner_link(&store)?) } else { None };
    web::serve(&Arc::new(Desk::new(store, settings)), args.bind, link.as_deref())?;
    Ok(Answer::new(""))
}
