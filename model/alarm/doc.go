// Package alarm follows the states of one alarm as IEC 62682 (Management of alarm systems for the process industries,
// 2014) and ANSI/ISA-18.2 (2016) name them: normal, unacknowledged, acknowledged, returned to normal, shelved. It does not
// decide what is alarming, which verdict does, and it tells nobody.
//
// # Transitions
//
//	normal          raised        unacknowledged
//	unacknowledged  acknowledged  acknowledged
//	unacknowledged  cleared       returned to normal
//	acknowledged    cleared       normal
//	returned        acknowledged  normal
//	returned        raised        unacknowledged
//	any             shelved       shelved, until a time
//	shelved         unshelved, or its time is over: unacknowledged where the cause is there, else normal
//
// While it is shelved an alarm goes on to be followed, as OPC UA (OPC 10000-9, Alarms and Conditions, 5.8) has it: only
// nobody is told. Latched alarms, suppression by design and out of service are states of the standards that one
// alarm a line has no use for.
package alarm
