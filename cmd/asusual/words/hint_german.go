package words

import (
	"cmp"

	"asusual/cmd/asusual/config"
)

// HintIn returns the hint after an error in the language of that tag, where it has one of those that doctor meets.
func HintIn(tag string, err error) string {
	hint := Hint(err)
	if tag != "de" {
		return hint
	}
	return cmp.Or(hintsGerman()[hint], hint)
}

// hintsGerman is what Hint says of models, histories, approvals and the system, in German.
func hintsGerman() map[string]string {
	return map[string]string{
		"asusual inspect on the same folder, to see what is there and what is wrong with it":                         "asusual inspect für denselben Ordner, um zu sehen, was dort ist und was daran nicht stimmt",
		"a newer asusual, or asusual learn":                                                                          "ein neueres asusual, oder asusual learn",
		"a copy from before, or asusual learn":                                                                       "eine Kopie von vorher, oder asusual learn",
		"look at its card, then: asusual approve --by NAME --note TEXT; or take approved-only out of " + config.Name: "ihre Karte ansehen, dann: asusual approve --by NAME --note TEXT; oder approved-only aus " + config.Name + " nehmen",

		"reference = \"FILE\" of the line in " + config.Name + "; or --reference FILE, where the command has that option": "reference = \"DATEI\" der Linie in " + config.Name,

		"start the watch once while the server can be reached; from then on it goes on without it, too": "die Überwachung einmal starten, während der Server zu erreichen ist; von da an läuft sie auch ohne ihn weiter",
		"asusual watch, again": "asusual watch, noch einmal",
		"asusual export of both, to see what each has; then move the file away to go on from the server's, or give the line another name":                                                                   "asusual export von beiden, um zu sehen, was jede hat; dann die Datei wegräumen, um von der des Servers weiterzumachen, oder der Linie einen anderen Namen geben",
		"a newer copy of the server's history, put back there; or the line taken out there, after which it is carried over anew":                                                                            "eine neuere Kopie der Historie des Servers dort einspielen; oder die Linie dort herausnehmen, danach wird sie neu hinübergebracht",
		"end what holds it, such as another program that has the history open for writing, or a backup; then try again":                                                                                     "beenden, was sie festhält, etwa ein anderes Programm, das die Historie zum Schreiben offen hat, oder eine Sicherung; dann noch einmal versuchen",
		"user and database in the address under [history] in " + config.Name + ", and the password in PGPASSWORD or the file of PGPASSFILE (.pgpass) of the user who runs this; the server's log says more": "Benutzer und Datenbank in der Adresse unter [history] in " + config.Name + ", und das Passwort in PGPASSWORD oder der Datei von PGPASSFILE (.pgpass) dessen, unter dem dies läuft; das Protokoll des Servers sagt mehr",
		"look whether the server runs and answers this computer, and whether its address under [history] in " + config.Name + " is right":                                                                   "nachsehen, ob der Server läuft und diesem Rechner antwortet, und ob seine Adresse unter [history] in " + config.Name + " stimmt",
		"stop the other one first; one history has one watcher":                                                                                                                                             "zuerst die andere beenden; eine Historie hat eine Überwachung",
		"ask for the right to write that file and its folder, or have [history] in " + config.Name + " name another":                                                                                        "um das Recht bitten, diese Datei und ihren Ordner zu schreiben, oder unter [history] in " + config.Name + " eine andere nennen",
		"asusual doctor, which names the right that is missing at the server":                                                                                                                               "asusual doctor, das sagt, welches Recht auf dem Server fehlt",
		"a newer asusual; or the backup of before the update, put back":                                                                                                                                     "ein neueres asusual; oder die Sicherung von vor dem Update, zurückgespielt",
		"a copy from before, or another file in [history] of " + config.Name:                                                                                                                                "eine Kopie von vorher, oder eine andere Datei unter [history] in " + config.Name,
		"make room on the disk": "Platz auf der Platte schaffen",

		"look at the spelling, and at the folder that the command runs in":         "die Schreibweise ansehen, und den Ordner, in dem der Befehl läuft",
		"ask for the right to read and write there, or run as the user who has it": "um das Recht bitten, dort zu lesen und zu schreiben, oder als der Benutzer starten, der es hat",
	}
}
