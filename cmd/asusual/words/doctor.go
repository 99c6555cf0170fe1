package words

import (
	"maps"
	"strings"
	"sync"
)

// Doctor returns what doctor says under a key in the language of that tag, English for any other than German, with names and
// values put in, in pairs. What to try stands under the key and ".try"; "" where there is nothing to try.
func Doctor(tag, key string, put ...string) string {
	texts := doctorEnglish
	if tag == "de" {
		texts = doctorGerman
	}
	text := texts()[key]
	old := make([]string, len(put))
	for i, s := range put {
		if i%2 == 0 {
			s = "{" + s + "}"
		}
		old[i] = s
	}
	return strings.NewReplacer(old...).Replace(text)
}

var (
	doctorEnglish = sync.OnceValue(func() map[string]string { return joined(doctorEnglishHere(), serverEnglish()) })
	doctorGerman  = sync.OnceValue(func() map[string]string { return joined(doctorGermanHere(), serverGerman()) })
)

func joined(all ...map[string]string) map[string]string {
	m := map[string]string{}
	for _, one := range all {
		maps.Copy(m, one)
	}
	return m
}

func doctorEnglishHere() map[string]string {
	return map[string]string{
		"fine": "fine", "look": "look", "wrong": "wrong", "try": "try", "site": "all lines",
		"sum": "{fine} fine, {look} to look at, {wrong} wrong",

		"config": "{file}; lines: {lines}, shifts: {shifts}",
		"zone":   "time zone {zone}, where it is {time}",

		"zone.own":        "no time zone is stated; that of this computer counts, where it is {time} ({zone})",
		"zone.own.try":    "time-zone = \"Europe/Helsinki\" in [site], so that a computer set up anew changes nothing",
		"shifts.none":     "no shift is stated: the whole day is one shift, and its report comes after midnight",
		"shifts.none.try": "nothing, where a report a day will do; else [[shift]] with name, from and to; asusual init --print shows one",

		"folder":           "{what}: {folder} can be written",
		"folder.bad":       "{what}: {folder} cannot be written: {reason}",
		"folder.bad.try":   "make the folder, or ask for the right to write there, as the user who runs the watch",
		"what.history":     "history",
		"what.reports":     "reports",
		"what.state":       "state file",
		"history":          "history {file} can be read: {mb} MB, from {from} to {to}",
		"history.there":    "history {file} can be read: from {from} to {to}",
		"history.empty":    "history {file} can be read, and holds no spectra of the lines named here yet",
		"line.left":        "history has line {name}, too, last heard of {last}, which no [[line]] names",
		"line.left.try":    "its name as it was, if it got another one by mistake: what is known of it stays under the old name; nothing, if it is out of use",
		"history.none":     "there is no history yet",
		"history.none.try": "asusual watch, which makes it",
		"history.bad":      "history cannot be read: {reason}",
		"history.bad.try":  "{hint}",
		"watched":          "watched by process {pid} ({name}), since {since}",
		"watched.no":       "nobody watches now",
		"watched.no.try":   "asusual watch; asusual init --service systemd or windows writes what keeps it running",
		"watched.bad":      "whether somebody watches cannot be told: {reason}",
		"watched.bad.try":  "doctor as the user who runs the watch",

		"lasts.years":   "more than two years",
		"lasts.days":    "days",
		"lasts.day":     "less than two days",
		"disk":          "{free} GB are free for {folder}; at the pace so far that lasts {lasts}",
		"disk.room":     "{free} GB are free for {folder}",
		"disk.low":      "only {free} GB are free for {folder}; at the pace so far that lasts {lasts}",
		"disk.low.try":  "make room, or keep-spectra in [history] and asusual prune; a history elsewhere",
		"disk.full":     "{free} GB are free for {folder}, which lasts {lasts}: the watch will wait when it is full",
		"disk.full.try": "make room now; nothing is lost while the watch waits, but nothing is judged either",

		"live":           "the live page can be at {address}",
		"live.there":     "the live page of the watch that runs is at {address}",
		"live.other":     "at {address} somebody answers, and the state file of the watch that runs does not say that it is its live page",
		"live.other.try": "after an update the watch started anew; the log of the watch, which says where the page cannot be opened; another port in address of [live], or end the program that has it",
		"live.unset":     "[live] says something of the live page, and its address is missing",
		"live.unset.try": "address = \"127.0.0.1:8080\" in [live]; or take out what else it says",
		"live.ends":      "the certificate of the live page ends {day}; browsers refuse the page then",
		"live.ends.try":  "a new certificate in the same files; a running watch takes it up by itself",
		"live.refused":   "the watch would not start with this live page: {reason}",
		"live.refused.try": "token-file of [live] with a token of 16 characters or more, without which address can only be one of this computer alone; " +
			"certificate and key that belong together; doctor as the user who runs the watch",
		"live.shut":      "the live page cannot be opened, and the watch would run without it: {reason}",
		"live.shut.try":  "token-file, certificate and key of [live]: there, fit for each other and to be read by the user who runs the watch; doctor as that user",
		"live.bad":       "the live page cannot be at {address}: {reason}",
		"live.bad.try":   "another port in address of [live], or end the program that has it",
		"signal":         "the program of [signal] is there: {program}",
		"signal.bad":     "[signal] cannot work: {reason}",
		"signal.bad.try": "mend [signal] in the configuration; its file paths start at the folder of that file",
		"mqtt":           "the broker {broker} answers",
		"mqtt.bare":      "the password for the broker {broker} goes over the network as it is",
		"mqtt.bare.try":  "mqtts:// in broker of [signal.mqtt], where the broker speaks TLS; trust, if this computer does not know its certificate",
		"mqtt.trust":     "trust says nothing of the broker {broker}: at mqtt:// nothing is encrypted, and no certificate is asked for",
		"mqtt.trust.try": "mqtts:// in broker of [signal.mqtt], where the broker speaks TLS; else take trust out",
		"mqtt.bad":       "the broker {broker} does not answer as it should: {reason}",
		"mqtt.bad.try":   "the address, the port and the firewall; user and password-file; trust for mqtts",

		"watch":           "watched folder {folder}; files: {files}, the newest {age} old",
		"watch.unset":     "no folder to watch is stated",
		"watch.unset.try": "watch = \"…\" in its [[line]]: the folder that the spectrometer writes to",
		"watch.bad":       "watched folder {folder}: {reason}",
		"watch.bad.try":   "the spelling, the share that it lies on, and the right to read it as the user who runs the watch",
		"watch.empty":     "watched folder {folder} holds no spectra yet (files that do not count: {ignored})",
		"watch.empty.try": "let the spectrometer write a spectrum there; if it did, look at files = […] of [line.spectra]",
		"watch.old":       "watched folder {folder}; files: {files}, and the newest is {age} old",
		"watch.old.try":   "does the spectrometer run, and does it write to this folder?",
		"good":            "known-good spectra: {folder} is there",
		"good.empty":      "known-good spectra: there are none in {folder}",
		"good.empty.try":  "nothing, where a reference is there and none is to be learned anew; else put spectra there from when the line was known to be good; then asusual learn",
		"good.none":       "known-good spectra: {folder}: {reason}",
		"good.none.try":   "nothing, as long as nothing is to be learned anew; else good = \"…\" of the line",

		"notify":             "notifications arrive, {ms} ms after a file is written; tried in {folder}, {how}",
		"notify.same":        "a folder of ours on the same disk",
		"notify.here":        "the watched folder itself",
		"notify.not":         "notifications do not arrive ({folder}); the watch lists the folder all the same, every few seconds",
		"notify.not.try":     "nothing, if a spectrum may be judged some seconds later; network shares send none",
		"notify.failed":      "whether notifications arrive could not be tried in {folder}: {reason}",
		"notify.failed.try":  "doctor as the user who runs the watch, who has the right to write there; room on that disk",
		"notify.refused":     "the system sends no notifications of {folder}: {reason}; the watch lists it all the same",
		"notify.refused.try": "on Linux, a larger fs.inotify.max_user_watches where there are many folders",
		"notify.untried":     "whether notifications of {folder} arrive was not tried: nothing of ours lies on its disk, and nothing is written to it unasked",
		"notify.untried.try": "asusual doctor --write-test, which writes one hidden file there and takes it away; the watch lists the folder in any case",

		"clock":            "the clock fits the newest files",
		"clock.ahead":      "the newest file, {file}, was written {by} in the future by the clock of this computer",
		"clock.ahead.try":  "set the clocks of this computer, the spectrometer and the file server by one time server",
		"clock.future":     "the newest spectrum, {file}, says a time that is {by} in the future",
		"clock.future.try": "the spectrometer's clock; and time-zone in [site], if its times carry no zone",
		"clock.zone":       "the times in the files lie {by} from when the files were written, all alike: a time zone looks wrong",
		"clock.zone.try":   "time-zone in [site] for times without a zone; else the time zone of the spectrometer's computer",
		"clock.step":       "the times in the files go back by {by} at {file}, which was written later than the one before",
		"clock.step.try":   "let a time server keep the spectrometer's clock; the verdict follows, and its gap stays in history",

		"read":                  "the newest files can be read: {axis}, {quantity}",
		"read.bad":              "{bad} of the {files} newest files cannot be read, such as {file}: {reason}",
		"read.bad.try":          "asusual inspect on that file; files = […] of [line.spectra] leaves out what is none",
		"reference":             "reference {name} ({fingerprint}), learned {day}, runs: {runs}, {axis}",
		"reference.none":        "there is no reference at {file}",
		"reference.none.try":    "asusual learn, which writes it",
		"condition.unknown":     "[[line.condition]] {name}: the reference knows no condition of that name, and what is stated of it has no effect; it knows {known}",
		"condition.unknown.try": "the name as it stands there; asusual learn, if it has from and is new",
		"condition.none":        "[[line.condition]] {name}: the reference knows no condition yet, and what is stated of it has no effect",
		"condition.none.try":    "asusual learn, if it has from; asusual conditions name, for a group of spectra that was seen",
		"reference.bad":         "the reference cannot be used: {reason}",
		"reference.bad.try":     "{hint}",
		"approved":              "approved by {by}, {day}",
		"approved.no":           "nobody has approved the reference {fingerprint}, and only approved ones are accepted",
		"approved.no.try":       "look at its card, then: asusual approve --by NAME --note TEXT",
		"approved.waits":        "nobody has approved the reference {fingerprint}; until somebody does, {before} is in force",
		"approved.waits.try":    "look at its card, then: asusual approve --by NAME --note TEXT",
		"inside":                "{inside} of the {n} newest spectra lie within usual or a known condition",
		"inside.few":            "only {inside} of the {n} newest spectra lie within usual or a known condition",
		"inside.few.try":        "asusual judge on the folder says more; if the line runs as it should, learn from runs of this product and this instrument",
		"inside.none":           "none of the {n} newest spectra can be judged by the reference: {reason}",
		"inside.none.try":       "axis and quantity of [line.spectra] against the reference's; if the instrument is another one, learn anew",

		"instrument":           "the instrument's own spectra: the newest is {age} old",
		"instrument.none":      "the instrument is judged by the spectra of production alone: no dark, reference or standard spectra are stated",
		"instrument.none.try":  "[[line.instrument.check]] says how they are told, where the instrument writes some",
		"instrument.stale":     "the newest of the instrument's own spectra is {age} old",
		"instrument.stale.try": "have the spectrometer record dark and reference spectra again, as often as stale-after says",
		"instrument.since":     "since under [line.instrument] is {since}, still to come: its checks go on as before, and begin anew at the first start of the watch after it",
		"instrument.since.try": "the date on which lamp or detector was changed",
		"instrument.never":     "rules for the instrument's own spectra are stated, and history holds none",
		"instrument.never.try": "folder, name or label of [[line.instrument.check]] against the files that the instrument writes",
		"files":                "dark and reference spectrum can be read",
		"files.bad":            "{reason}",
		"files.bad.try":        "dark and reference of [line.instrument]: files of one spectrum each",
	}
}

func doctorGermanHere() map[string]string {
	return map[string]string{
		"fine": "gut", "look": "ansehen", "wrong": "falsch", "try": "versuchen", "site": "alle Linien",
		"sum": "{fine} gut, {look} anzusehen, {wrong} falsch",

		"config": "{file}; Linien: {lines}, Schichten: {shifts}",
		"zone":   "Zeitzone {zone}, dort ist es {time}",

		"zone.own":        "keine Zeitzone ist angegeben; es gilt die dieses Rechners, dort ist es {time} ({zone})",
		"zone.own.try":    "time-zone = \"Europe/Helsinki\" in [site], damit ein neu aufgesetzter Rechner nichts ändert",
		"shifts.none":     "keine Schicht ist angegeben: der ganze Tag gilt als eine, und ihr Bericht kommt nach Mitternacht",
		"shifts.none.try": "nichts, wo ein Bericht am Tag genügt; sonst [[shift]] mit name, from und to; asusual init --print zeigt eine",

		"folder":           "{what}: {folder} ist beschreibbar",
		"folder.bad":       "{what}: {folder} ist nicht beschreibbar: {reason}",
		"folder.bad.try":   "den Ordner anlegen, oder um das Recht bitten, dort zu schreiben, als der Benutzer, unter dem die Überwachung läuft",
		"what.history":     "Historie",
		"what.reports":     "Berichte",
		"what.state":       "Zustandsdatei",
		"history":          "die Historie {file} ist lesbar: {mb} MB, von {from} bis {to}",
		"history.there":    "die Historie {file} ist lesbar: von {from} bis {to}",
		"history.empty":    "die Historie {file} ist lesbar und enthält noch keine Spektren der hier genannten Linien",
		"line.left":        "die Historie kennt auch die Linie {name}, von der zuletzt am {last} etwas kam und die kein [[line]] nennt",
		"line.left.try":    "ihren Namen wie zuvor, falls sie versehentlich einen anderen bekam: was von ihr bekannt ist, bleibt unter dem alten Namen; nichts, wenn sie außer Gebrauch ist",
		"history.none":     "es gibt noch keine Historie",
		"history.none.try": "asusual watch, das sie anlegt",
		"history.bad":      "die Historie ist nicht lesbar: {reason}",
		"history.bad.try":  "{hint}",
		"watched":          "überwacht von Prozess {pid} ({name}), seit {since}",
		"watched.no":       "niemand überwacht gerade",
		"watched.no.try":   "asusual watch; asusual init --service systemd oder windows schreibt, was es am Laufen hält",
		"watched.bad":      "ob jemand überwacht, ist nicht zu erfahren: {reason}",
		"watched.bad.try":  "doctor als der Benutzer, unter dem die Überwachung läuft",

		"lasts.years":   "mehr als zwei Jahre",
		"lasts.days":    "Tage",
		"lasts.day":     "weniger als zwei Tage",
		"disk":          "{free} GB sind frei für {folder}; beim bisherigen Gang reicht das {lasts}",
		"disk.room":     "{free} GB sind frei für {folder}",
		"disk.low":      "nur {free} GB sind frei für {folder}; beim bisherigen Gang reicht das {lasts}",
		"disk.low.try":  "Platz schaffen, oder keep-spectra in [history] und asusual prune; eine Historie an anderem Ort",
		"disk.full":     "{free} GB sind frei für {folder}, das reicht {lasts}: ist er voll, wartet die Überwachung",
		"disk.full.try": "jetzt Platz schaffen; nichts geht verloren, während die Überwachung wartet, aber nichts wird beurteilt",

		"live":           "die Live-Seite kann bei {address} sein",
		"live.there":     "die Live-Seite der laufenden Überwachung ist bei {address}",
		"live.other":     "bei {address} antwortet jemand, und die Zustandsdatei der laufenden Überwachung sagt nicht, dass es ihre Live-Seite ist",
		"live.other.try": "nach einer Aktualisierung die Überwachung neu starten; das Protokoll der Überwachung, das sagt, wenn die Seite sich nicht öffnen lässt; ein anderer Port in address von [live], oder das Programm beenden, das ihn hat",
		"live.unset":     "[live] sagt etwas über die Live-Seite, und ihre Adresse fehlt",
		"live.unset.try": "address = \"127.0.0.1:8080\" in [live]; oder herausnehmen, was sonst darin steht",
		"live.ends":      "das Zertifikat der Live-Seite endet {day}; dann weisen Browser die Seite ab",
		"live.ends.try":  "ein neues Zertifikat in denselben Dateien; eine laufende Überwachung nimmt es von selbst",
		"live.refused":   "die Überwachung würde mit dieser Live-Seite nicht starten: {reason}",
		"live.refused.try": "token-file von [live] mit einem Token von 16 Zeichen oder mehr, ohne das address nur eine Adresse dieses Rechners allein sein kann; " +
			"certificate und key, die zusammengehören; doctor als der Benutzer, unter dem die Überwachung läuft",
		"live.shut":      "die Live-Seite lässt sich nicht öffnen, und die Überwachung würde ohne sie laufen: {reason}",
		"live.shut.try":  "token-file, certificate und key von [live]: vorhanden, zueinander passend und lesbar für den Benutzer, unter dem die Überwachung läuft; doctor als dieser",
		"live.bad":       "die Live-Seite kann nicht bei {address} sein: {reason}",
		"live.bad.try":   "ein anderer Port in address von [live], oder das Programm beenden, das ihn hat",
		"signal":         "das Programm von [signal] ist da: {program}",
		"signal.bad":     "[signal] kann nicht wirken: {reason}",
		"signal.bad.try": "[signal] in der Konfiguration berichtigen; Pfade beginnen beim Ordner dieser Datei",
		"mqtt":           "der Broker {broker} antwortet",
		"mqtt.bare":      "das Passwort für den Broker {broker} geht unverschlüsselt über das Netz",
		"mqtt.bare.try":  "mqtts:// in broker von [signal.mqtt], wenn der Broker TLS spricht; dazu trust, wenn dieser Rechner sein Zertifikat nicht kennt",
		"mqtt.trust":     "trust sagt nichts über den Broker {broker}: bei mqtt:// wird nichts verschlüsselt und kein Zertifikat verlangt",
		"mqtt.trust.try": "mqtts:// in broker von [signal.mqtt], wenn der Broker TLS spricht; sonst trust herausnehmen",
		"mqtt.bad":       "der Broker {broker} antwortet nicht, wie er soll: {reason}",
		"mqtt.bad.try":   "Adresse, Port und Firewall; user und password-file; trust bei mqtts",

		"watch":           "überwachter Ordner {folder}; Dateien: {files}, die neueste {age} alt",
		"watch.unset":     "kein Ordner zum Überwachen ist angegeben",
		"watch.unset.try": "watch = \"…\" in ihrer [[line]]: der Ordner, in den das Spektrometer schreibt",
		"watch.bad":       "überwachter Ordner {folder}: {reason}",
		"watch.bad.try":   "die Schreibweise, die Freigabe, auf der er liegt, und das Recht, ihn zu lesen, als der Benutzer, unter dem die Überwachung läuft",
		"watch.empty":     "der überwachte Ordner {folder} enthält noch keine Spektren (Dateien, die nicht zählen: {ignored})",
		"watch.empty.try": "das Spektrometer ein Spektrum schreiben lassen; hat es das, files = […] von [line.spectra] ansehen",
		"watch.old":       "überwachter Ordner {folder}; Dateien: {files}, und die neueste ist {age} alt",
		"watch.old.try":   "läuft das Spektrometer, und schreibt es in diesen Ordner?",
		"good":            "bekannt gute Spektren: {folder} ist da",
		"good.empty":      "bekannt gute Spektren: in {folder} liegen keine",
		"good.empty.try":  "nichts, wo eine Referenz da ist und nichts neu gelernt werden soll; sonst Spektren aus bekannt guter Produktion dorthin legen; dann asusual learn",
		"good.none":       "bekannt gute Spektren: {folder}: {reason}",
		"good.none.try":   "nichts, solange nichts neu gelernt werden soll; sonst good = \"…\" der Linie",

		"notify":             "Meldungen kommen an, {ms} ms nachdem eine Datei geschrieben ist; versucht in {folder}, {how}",
		"notify.same":        "einem eigenen Ordner auf derselben Platte",
		"notify.here":        "dem überwachten Ordner selbst",
		"notify.not":         "Meldungen kommen nicht an ({folder}); die Überwachung listet den Ordner dennoch, alle paar Sekunden",
		"notify.not.try":     "nichts, wenn ein Spektrum einige Sekunden später beurteilt werden darf; Netzfreigaben senden keine",
		"notify.failed":      "ob Meldungen ankommen, ließ sich in {folder} nicht versuchen: {reason}",
		"notify.failed.try":  "doctor als der Benutzer starten, unter dem die Überwachung läuft und der dort schreiben darf; Platz auf dieser Platte",
		"notify.refused":     "das System sendet keine Meldungen von {folder}: {reason}; die Überwachung listet ihn dennoch",
		"notify.refused.try": "unter Linux ein größeres fs.inotify.max_user_watches, wo es viele Ordner gibt",
		"notify.untried":     "ob Meldungen von {folder} ankommen, wurde nicht versucht: nichts Eigenes liegt auf seiner Platte, und ungefragt wird nichts hineingeschrieben",
		"notify.untried.try": "asusual doctor --write-test, das eine verborgene Datei hineinschreibt und wieder wegnimmt; die Überwachung listet den Ordner in jedem Fall",

		"clock":            "die Uhr passt zu den neuesten Dateien",
		"clock.ahead":      "die neueste Datei, {file}, wurde nach der Uhr dieses Rechners {by} in der Zukunft geschrieben",
		"clock.ahead.try":  "die Uhren dieses Rechners, des Spektrometers und des Dateiservers nach einem Zeitserver stellen",
		"clock.future":     "das neueste Spektrum, {file}, nennt eine Zeit, die {by} in der Zukunft liegt",
		"clock.future.try": "die Uhr des Spektrometers; und time-zone in [site], wenn seine Zeiten keine Zone tragen",
		"clock.zone":       "die Zeiten in den Dateien liegen {by} neben der, zu der sie geschrieben wurden, alle gleich: eine Zeitzone scheint falsch",
		"clock.zone.try":   "time-zone in [site] für Zeiten ohne Zone; sonst die Zeitzone des Rechners am Spektrometer",
		"clock.step":       "die Zeiten in den Dateien gehen bei {file} um {by} zurück, die später geschrieben wurde als die davor",
		"clock.step.try":   "einen Zeitserver die Uhr des Spektrometers halten lassen; das Urteil folgt, und die Lücke bleibt in der Historie",

		"read":                  "die neuesten Dateien sind lesbar: {axis}, {quantity}",
		"read.bad":              "{bad} der {files} neuesten Dateien sind nicht lesbar, etwa {file}: {reason}",
		"read.bad.try":          "asusual inspect für diese Datei; files = […] von [line.spectra] lässt aus, was keine ist",
		"reference":             "Referenz {name} ({fingerprint}), gelernt {day}, Läufe: {runs}, {axis}",
		"reference.none":        "bei {file} ist keine Referenz",
		"reference.none.try":    "asusual learn, das sie schreibt",
		"condition.unknown":     "[[line.condition]] {name}: die Referenz kennt keinen Zustand dieses Namens, und was von ihm angegeben ist, wirkt nicht; sie kennt {known}",
		"condition.unknown.try": "den Namen, wie er dort steht; asusual learn, wenn er from hat und neu ist",
		"condition.none":        "[[line.condition]] {name}: die Referenz kennt noch keinen Zustand, und was von ihm angegeben ist, wirkt nicht",
		"condition.none.try":    "asusual learn, wenn er from hat; asusual conditions name, für eine Gruppe von Spektren, die gesehen wurde",
		"reference.bad":         "die Referenz ist nicht zu gebrauchen: {reason}",
		"reference.bad.try":     "{hint}",
		"approved":              "freigegeben von {by}, {day}",
		"approved.no":           "niemand hat die Referenz {fingerprint} freigegeben, und nur freigegebene werden angenommen",
		"approved.no.try":       "ihre Karte ansehen, dann: asusual approve --by NAME --note TEXT",
		"approved.waits":        "niemand hat die Referenz {fingerprint} freigegeben; bis es jemand tut, gilt {before}",
		"approved.waits.try":    "ihre Karte ansehen, dann: asusual approve --by NAME --note TEXT",
		"inside":                "{inside} der {n} neuesten Spektren liegen im Gewohnten oder in einem bekannten Zustand",
		"inside.few":            "nur {inside} der {n} neuesten Spektren liegen im Gewohnten oder in einem bekannten Zustand",
		"inside.few.try":        "asusual judge für den Ordner sagt mehr; läuft die Linie, wie sie soll, aus Läufen dieses Produkts und dieses Geräts lernen",
		"inside.none":           "keines der {n} neuesten Spektren kann nach der Referenz beurteilt werden: {reason}",
		"inside.none.try":       "axis und quantity von [line.spectra] gegen die der Referenz; ist es ein anderes Gerät, neu lernen",

		"instrument":           "die eigenen Spektren des Geräts: das neueste ist {age} alt",
		"instrument.since":     "since unter [line.instrument] ist {since} und steht noch bevor: die Prüfungen des Geräts gehen weiter wie bisher und beginnen von vorn, wenn die Überwachung danach das erste Mal gestartet wird",
		"instrument.since.try": "das Datum, an dem Lampe oder Detektor gewechselt wurde",
		"instrument.none":      "das Gerät wird allein nach den Spektren der Produktion beurteilt: keine Dunkel-, Referenz- oder Standardspektren sind angegeben",
		"instrument.none.try":  "[[line.instrument.check]] sagt, woran sie zu erkennen sind, wo das Gerät welche schreibt",
		"instrument.stale":     "das neueste der eigenen Spektren des Geräts ist {age} alt",
		"instrument.stale.try": "das Spektrometer wieder Dunkel- und Referenzspektren aufnehmen lassen, so oft wie stale-after sagt",
		"instrument.never":     "Regeln für die eigenen Spektren des Geräts sind angegeben, und die Historie enthält keine",
		"instrument.never.try": "folder, name oder label von [[line.instrument.check]] gegen die Dateien, die das Gerät schreibt",
		"files":                "Dunkel- und Referenzspektrum sind lesbar",
		"files.bad":            "{reason}",
		"files.bad.try":        "dark und reference von [line.instrument]: Dateien mit je einem Spektrum",
	}
}
