//! One list of cases, each run on SQLite and on PostgreSQL, and what only one of them can do.
//!
//! `cargo xtask test` starts a throw-away PostgreSQL server for these and names it in
//! `GUIDECOAT_TEST_POSTGRES`. Without it the PostgreSQL half fails: a half that is not run has not passed.

// Clippy allows `unwrap` in tests by itself, but not in the functions they share.
#![allow(clippy::unwrap_used)]

mod opening;
mod owners;
mod places;
mod postgres_server;
mod record;
mod shop;
mod sqlite_file;

macro_rules! cases {
    ($($file:ident: $($name:ident)+;)+) => {
        mod sqlite {
            $($(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                crate::places::on_sqlite(crate::$file::$name).await;
            })+)+
        }
        mod postgres {
            $($(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                crate::places::on_postgres(crate::$file::$name).await;
            })+)+
        }
    };
}

cases! {
    record:
        what_is_appended_comes_back_byte_for_byte
        invariant_any_text_comes_back_byte_for_byte
        a_text_with_nul_is_refused
        two_writers_at_one_place_and_one_is_told
        invariant_twenty_writers_at_once_lose_nothing
        one_entry_sent_by_twenty_at_once_is_kept_once
        an_entry_sent_twice_is_kept_once
        an_entry_of_another_car_is_refused
        several_events_are_kept_whole_or_not_at_all
        a_gap_is_refused
        a_hole_is_not_filled
        a_batch_that_does_not_fit_is_refused
        pages_are_bounded_and_in_order
        heads_are_listed_oldest_car_first;
    shop:
        the_same_bytes_twice_are_kept_once
        bytes_under_a_wrong_hash_are_refused
        hashes_of_blobs_come_in_pages
        people_keep_their_order_and_change
        sessions_end
        a_session_needs_its_person;
    owners:
        a_link_is_kept_and_found
        an_ended_link_comes_back_with_its_dates
        a_link_revoked_twice_keeps_the_first_moment
        a_token_is_kept_once_and_never_comes_to_life_again
        links_of_a_car_come_newest_first_and_no_others
        a_link_needs_its_people
        visits_come_back_newest_first
        only_the_latest_visits_are_kept
        a_visit_that_does_not_fit_is_refused
        a_backup_carries_people_but_no_links_and_no_visits;
    opening:
        an_empty_database_answers
        opened_by_many_at_once
        what_is_kept_is_there_after_reopening
        an_older_database_gains_the_tables_and_keeps_the_rest
        an_older_database_is_opened_by_many_at_once
        a_newer_database_is_refused
        a_changed_migration_is_refused
        an_altered_text_is_handed_out_for_the_chain_to_find
        a_damaged_row_says_where
        tables_of_another_program_are_refused;
}
