// Package signal tells a plant how its lines stand: it runs a command when a verdict changes, and publishes to an MQTT
// broker. It reads the board that a watch fills, and it stops no watch: what it cannot tell it logs.
//
// # The command
//
// It is started without a shell, so that no name of a file or a line is ever read as part of a command. It gets, in its environment:
//
//	ASUSUAL_LINE            the line's name
//	ASUSUAL_VERDICT         as usual, the process has changed, or cannot say: also where nothing is judged, see monitor.Status.At
//	ASUSUAL_WAS             the verdict that the command was told last; empty at the start of a watch
//	ASUSUAL_SINCE           from when on the verdict stands, RFC 3339
//	ASUSUAL_CHANGED_SINCE   when the change is estimated to have begun, or empty
//	ASUSUAL_DISTANCE        of the last spectrum; 1 is the limit
//	ASUSUAL_INSTRUMENT      fit, ageing, unfit, or unknown
//	ASUSUAL_GROUP           the uncharted group of the change, or empty
//	ASUSUAL_ALARM           the state of the alarm
//
// Where nothing is judged any more, the verdict is that it cannot be said: see [monitor.Status.At].
//
// It runs once at the start of a watch, for a lamp that it switches may have been off, and then on each change. It is never
// running twice: what changes meanwhile is told after it has ended, as it stands then.
//
// # The topics
//
//	PREFIX/watch               watching, stopped, or lost: the last is the will
//	PREFIX/heartbeat           when the watch last said that it is alive, RFC 3339
//	PREFIX/line/LINE/verdict   the verdict, in its words
//	PREFIX/line/LINE/distance  of the last spectrum; 1 is the limit
//	PREFIX/line/LINE/state     all of it, as in the state file, JSON
//
// Verdict and state say "cannot say" where nothing is judged: see [monitor.Status.At].
//
// The topics of a line that was renamed or taken out of service stay at the broker as they were last, for nothing tells the watch that
// it once published them: they hold no more, whatever PREFIX/watch says. An empty retained message to each clears it.
//
// All are retained, so that who comes later knows as much. In a line's name, what has a meaning in topics is written as %2F.
// Where the broker is away, nothing is kept for it but what stands when it comes back.
package signal
