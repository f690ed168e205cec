// Package repo keeps what the domain and auth want kept, in SQLite or in
// PostgreSQL, through GORM. It implements the store interfaces that those
// packages declare and decides nothing of its own.
//
// A store of the domain is an [Academy], opened for one academy; there is no
// other way to it, and every statement of it names that academy. Rows are
// structs of this package, without the domain's knowledge; instants are whole
// milliseconds in UTC, lengths whole tenths of a millimetre, and documents JSON
// text, so that both engines give back exactly what was put in.
package repo
