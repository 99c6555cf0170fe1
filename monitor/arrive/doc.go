// Package arrive says which files of a watched folder are complete and new, for the loop that judges them. It opens no
// file and changes none.
//
// A notification is only a hint, and the folder's listing is the truth: the folder is listed at the start, whenever
// notifications were lost, and again and again at an interval, which is short until a notification has shown that they come
// at all (network folders send none). A file is complete when its size and time stood still for the settle time, when it
// was renamed into its place, or when it is old. One that never stands still can be handed on as growing, for a reader who knows which
// part of it is whole.
//
// Memory is bounded by Options.Hold and Options.Remember, whatever lies in the folder: some 60 MB as they are by default.
package arrive
