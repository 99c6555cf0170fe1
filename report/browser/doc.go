// Package browser drives a headless Chromium for the tests of pages: it shows a page, asks it, and tells what its console, its
// log and its requests said. It is for tests only; no program imports it.
package browser
