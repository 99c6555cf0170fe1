package words

// What doctor says of the server that a history is on.
func serverEnglish() map[string]string {
	return map[string]string{
		"server":                    "the server {server} answers as PostgreSQL {software}, to the user {user}",
		"server.bad":                "{reason}",
		"server.bad.try":            "{hint}; a watch that has been there once goes on meanwhile",
		"server.log":                "look at the server's log, which says more",
		"server.clock":              "the server's clock and that of this computer are {by} s apart (within {within} s)",
		"server.clock.ahead":        "the server's clock is {by} s ahead of that of this computer (within {within} s)",
		"server.clock.ahead.try":    "set both by one time server; records carry the time of this computer",
		"server.clock.behind":       "the server's clock is {by} s behind that of this computer (within {within} s)",
		"server.clock.behind.try":   "set both by one time server; records carry the time of this computer",
		"server.standby":            "the server {server} takes nothing: it is a standby, or set to be read only",
		"server.standby.try":        "the address of the server that is written to, under [history]",
		"server.encoding":           "the server's database holds texts as {encoding}, in which not every name can be written",
		"server.encoding.try":       "a database made with: createdb --encoding UTF8 --template template0 NAME",
		"server.schema":             "the history there has version {version}, in the schema {place}",
		"server.none":               "there is no history on the server yet, in the schema {place}",
		"server.none.try":           "asusual watch, which makes it",
		"server.newer":              "the history there has version {version}; this program knows up to {newest}",
		"server.newer.try":          "a newer asusual on this computer",
		"server.older":              "the history there has version {version}; this program writes {newest}",
		"server.older.try":          "asusual watch as the user who made the tables: it brings the history forward, and older programs are then refused",
		"server.rights":             "the user {user} has the rights that a watch needs there",
		"server.rights.missing":     "the user {user} lacks rights there: {rights}",
		"server.rights.missing.try": "as their owner: GRANT USAGE, CREATE ON SCHEMA {place} TO {user}; GRANT ALL ON ALL TABLES IN SCHEMA {place} TO {user}; GRANT ALL ON ALL SEQUENCES IN SCHEMA {place} TO {user}; ALTER DEFAULT PRIVILEGES IN SCHEMA {place} GRANT ALL ON TABLES TO {user}; ALTER DEFAULT PRIVILEGES IN SCHEMA {place} GRANT ALL ON SEQUENCES TO {user}",
		"server.brought":            "nothing has waited long to be brought to the server",
		"server.waiting":            "spectra that wait here to be brought to the server: {spectra}, since {since}",
		"server.waiting.try":        "let a watch run, and the server be reachable; nothing is lost meanwhile",
	}
}

func serverGerman() map[string]string {
	return map[string]string{
		"server":                    "der Server {server} antwortet als PostgreSQL {software}, dem Benutzer {user}",
		"server.bad":                "{reason}",
		"server.bad.try":            "{hint}; die Überwachung läuft unterdessen weiter, wenn sie einmal dort war",
		"server.log":                "im Protokoll des Servers nachsehen, das mehr sagt",
		"server.clock":              "die Uhr des Servers und die dieses Rechners liegen {by} s auseinander (auf {within} s genau)",
		"server.clock.ahead":        "die Uhr des Servers geht der dieses Rechners {by} s vor (auf {within} s genau)",
		"server.clock.ahead.try":    "beide nach einem Zeitserver stellen; die Einträge tragen die Zeit dieses Rechners",
		"server.clock.behind":       "die Uhr des Servers geht der dieses Rechners {by} s nach (auf {within} s genau)",
		"server.clock.behind.try":   "beide nach einem Zeitserver stellen; die Einträge tragen die Zeit dieses Rechners",
		"server.standby":            "der Server {server} nimmt nichts an: er ist eine Kopie, oder nur zum Lesen eingestellt",
		"server.standby.try":        "die Adresse des Servers, auf den geschrieben wird, unter [history]",
		"server.encoding":           "die Datenbank des Servers hält Texte als {encoding}, darin lässt sich nicht jeder Name schreiben",
		"server.encoding.try":       "eine Datenbank, angelegt mit: createdb --encoding UTF8 --template template0 NAME",
		"server.schema":             "die Historie dort hat die Version {version}, im Schema {place}",
		"server.none":               "auf dem Server gibt es noch keine Historie, im Schema {place}",
		"server.none.try":           "asusual watch, das sie anlegt",
		"server.newer":              "die Historie dort hat die Version {version}; dieses Programm kennt sie bis {newest}",
		"server.newer.try":          "ein neueres asusual auf diesem Rechner",
		"server.older":              "die Historie dort hat die Version {version}; dieses Programm schreibt {newest}",
		"server.older.try":          "asusual watch als der Benutzer, der die Tabellen angelegt hat: es bringt die Historie vorwärts, und ältere Programme werden dann abgewiesen",
		"server.rights":             "der Benutzer {user} hat dort die Rechte, die die Überwachung braucht",
		"server.rights.missing":     "dem Benutzer {user} fehlen dort Rechte: {rights}",
		"server.rights.missing.try": "als deren Besitzer: GRANT USAGE, CREATE ON SCHEMA {place} TO {user}; GRANT ALL ON ALL TABLES IN SCHEMA {place} TO {user}; GRANT ALL ON ALL SEQUENCES IN SCHEMA {place} TO {user}; ALTER DEFAULT PRIVILEGES IN SCHEMA {place} GRANT ALL ON TABLES TO {user}; ALTER DEFAULT PRIVILEGES IN SCHEMA {place} GRANT ALL ON SEQUENCES TO {user}",
		"server.brought":            "nichts wartet seit längerem darauf, zum Server gebracht zu werden",
		"server.waiting":            "Spektren, die hier darauf warten, zum Server gebracht zu werden: {spectra}, seit {since}",
		"server.waiting.try":        "die Überwachung laufen lassen, und den Server erreichbar; verloren geht unterdessen nichts",
	}
}
