// Package mqtt publishes messages to a broker by MQTT Version 5.0 (OASIS Standard, 7 March 2019): retained or not, with the
// broker's word that it has each (quality of service 1), and with a last will. It does not subscribe, it keeps no session,
// and it does not connect again by itself: whoever uses it knows what is worth telling after a break.
//
// Numbers such as §3.1 are sections of the standard.
package mqtt
