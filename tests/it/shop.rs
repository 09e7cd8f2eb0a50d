//! The shop's record in a real PostgreSQL: its tables, its roles, what benches send on.

mod roles;
