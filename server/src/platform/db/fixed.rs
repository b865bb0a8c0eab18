//! Queries whose text never changes. In general an upsert or a piece of plain SQL may vary in text, so diesel prepares it anew each time;
//! those that run with every command are marked here and prepared once per connection.

use std::marker::PhantomData;

use diesel::{
    QueryResult, RunQueryDsl,
    backend::Backend,
    connection::LoadConnection,
    expression::QueryMetadata,
    query_builder::{AstPass, Query, QueryFragment, QueryId},
    sql_types::Integer,
};

/// A query whose text is the same for every value, told apart from others by the type `K`.
#[derive(Debug, Clone, Copy)]
pub struct Fixed<K, Q>(Q, PhantomData<K>);

/// Marks a query as one of fixed text. A row struct derives with
/// `treat_none_as_default_value = false`, so that a null is written and not left out.
pub fn fixed<K, Q>(query: Q) -> Fixed<K, Q> {
    Fixed(query, PhantomData)
}

impl<K: 'static, Q> Fixed<K, Q> {
    /// Runs a statement that answers no rows. Diesel's own `execute`, in whose place this one stands, takes a query by reference,
    /// and a reference forgets that the text is fixed: it would be prepared anew each time.
    pub fn execute<C>(self, conn: &mut C) -> QueryResult<()>
    where
        C: LoadConnection,
        C::Backend: QueryMetadata<Integer>,
        Q: QueryFragment<C::Backend>,
    {
        conn.load(Fixed::<K, _>(Rowless(self.0), PhantomData))?.try_for_each(|row| row.map(drop))
    }
}

/// A statement that answers no rows, in the shape of one that does.
struct Rowless<Q>(Q);

impl<Q: QueryFragment<DB>, DB: Backend> QueryFragment<DB> for Rowless<Q> {
    fn walk_ast<'b>(&'b self, pass: AstPass<'_, 'b, DB>) -> QueryResult<()> {
        self.0.walk_ast(pass)
    }
}

impl<Q> Query for Rowless<Q> {
    type SqlType = Integer;
}

impl<K: 'static, Q> QueryId for Fixed<K, Q> {
    type QueryId = K;
    const HAS_STATIC_QUERY_ID: bool = true;
}

impl<K, Q: QueryFragment<DB>, DB: Backend> QueryFragment<DB> for Fixed<K, Q> {
    fn walk_ast<'b>(&'b self, pass: AstPass<'_, 'b, DB>) -> QueryResult<()> {
        self.0.walk_ast(pass)
    }

    fn is_safe_to_cache_prepared(&self, _: &DB) -> QueryResult<bool> {
        Ok(true)
    }
}

impl<K, Q: Query> Query for Fixed<K, Q> {
    type SqlType = Q::SqlType;
}

impl<K, Q, Conn> RunQueryDsl<Conn> for Fixed<K, Q> {}
