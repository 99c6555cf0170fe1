// Package testserver starts a PostgreSQL server of its own for tests and measurements, on a socket in a folder of its own, and ends
// it. It reaches no server but that one, and no history in use is ever kept on it.
package testserver
