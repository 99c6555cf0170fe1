package report

import (
	"maps"

	"asusual/model/finding"
	"asusual/report/chart"
)

// German returns the words of the pages in German.
func German() *Language {
	text := map[string]string{}
	for _, part := range []map[string]string{germanBasics(), germanHandover(), germanDetails(), germanCard(), germanCompare(), germanLive(), germanApproval(), germanSite(), germanItems(), germanInstrument()} {
		maps.Copy(text, part)
	}
	return &Language{Tag: "de", Text: text, Findings: finding.German(), Pictures: chart.German}
}

// Of returns the language of a tag of BCP 47, such as "de" or "en-GB"; ok is false for one that the pages do not speak.
func Of(tag string) (l *Language, ok bool) {
	for _, l := range []*Language{English(), German()} {
		if len(tag) >= 2 && tag[:2] == l.Tag && (len(tag) == 2 || tag[2] == '-') {
			return l, true
		}
	}
	return nil, false
}

func germanBasics() map[string]string {
	return map[string]string{
		"decimal":   ",",
		"thousands": ".",
		"and":       "und",
		"weekdays":  "Sonntag Montag Dienstag Mittwoch Donnerstag Freitag Samstag",
		"months":    "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",

		"date.time":    "{date}, {time}",
		"date.day":     "{day}. {month}",
		"date.dayyear": "{day}. {month} {year}",
		"date.long":    "{weekday}, {day}. {month} {year}",
		"span.open":    "{from} bis jetzt",
		"period.day":   "{day}, {from}–{to} Uhr.",
		"period.days":  "{day}, {from} Uhr, bis {day2}, {to} Uhr.",
		"about":        "etwa {when}",
		"more.one":     "1 weitere",
		"more.many":    "{n} weitere",
		"runs.one":     "1 Lauf",
		"runs.many":    "{n} Läufen",

		"lasts.s":    "{s} s",
		"lasts.min":  "{min} min",
		"lasts.h":    "{h} h",
		"lasts.hmin": "{h} h {min} min",
		"lasts.d":    "{d} Tage",
		"lasts.dh":   "{d} Tage {h} h",
		"lasts.on":   "sie dauert an",

		"group.name":           "Gruppe {id}",
		"condition.usual":      "gewohnt",
		"condition.uncharted":  "unbekannt",
		"condition.unfit":      "nicht beurteilbar",
		"quantity.absorbance":  "Absorbanz",
		"condition.transition": "Übergang",

		"picture.nothing": "Kein Bild: es gab keine Spektren zu zeigen.",
		"picture.trouble": "Dieses Bild konnte nicht gezeichnet werden: {reason}.",

		"findings.title": "Was sonst zu wissen ist",
		"chosen":         "gewählt",
		"figures.beside": "Jede Zahl dieser Seite liegt neben ihr, in einer Datei, deren Name auf figures.json endet; was ihre Bilder zeichnen, in Tabellen (.csv) mit deren Namen.",

		"promise":           "{n} je {time}",
		"reference.line":    "Beurteilt nach der Referenz {name}, Fingerabdruck {fingerprint}.",
		"reference.after":   "Beurteilt nach der Referenz {name}, Fingerabdruck {fingerprint}, und davor nach {before}.",
		"reference.none":    "Es ist keine Referenz genannt.",
		"reference.learned": "Sie wurde am {day} aus {runs} gelernt, {hours} h bekannt guter Produktion. Zusage: nicht mehr falsche Episoden als {promise}.",

		"notsaid.title": "Was dieser Bericht nicht sagt",
		"notsaid.1":     "Er nennt keinen Inhaltsstoff, keinen Gehalt und keine Güteklasse. Wo Bindungen absorbieren, ist ein Hinweis, wo man hinsehen soll, kein Befund, was da ist.",
		"notsaid.2":     "„Wie gewohnt“ heißt: wie in den bekannt guten Läufen, aus denen die Referenz gelernt hat. Es heißt nicht gut, und eine Veränderung, die kleiner ist als die Reichweite der Referenz, wird nicht gesehen.",

		"caution.title": "Vorsicht",
		"caution.1":     "Dies zeigt eine Veränderung einer optischen Signatur. Es misst weder Zusammensetzung noch Sicherheit noch Allergene. Kein Produkt wird allein danach freigegeben oder gesperrt.",
		"caution.2":     "Pläne der Lebensmittelsicherheit, örtliche Vorschriften und Fachleute mit Befugnis gehen vor.",
		"caution.3":     "Die Lichtquelle einer Sonde ist heiß und hell. Vor Arbeiten an ihr von der Versorgung trennen und gegen Wiedereinschalten sichern.",
		"caution.short": "Nur eine optische Signatur, keine Messung von Zusammensetzung, Sicherheit oder Allergenen; kein Produkt wird allein danach freigegeben oder gesperrt. Die Lichtquelle einer Sonde ist heiß und hell: vor Arbeiten trennen und sichern. Mehr dazu: letzte Seite.",
	}
}

func germanHandover() map[string]string {
	return map[string]string{
		"handover.title":  "{line}, Schicht {shift}, {day}: Übergabe",
		"handover.kicker": "{line} · Schicht {shift} · Übergabe",
		"handover.late":   "Nachträglich aus der Historie geschrieben ({time}).",
		"handover.early":  "Vor dem Ende der Schicht geschrieben ({time}).",

		"verdict.changed":        "Der Prozess hat sich verändert.",
		"verdict.changed.since":  "Der Prozess hat sich verändert, seit etwa {when}.",
		"verdict.changed.before": "Der Prozess hat sich verändert, seit vor dieser Schicht: etwa {when}.",
		"verdict.usual":          "Wie gewohnt.",
		"verdict.usual.again":    "Wieder wie gewohnt, seit {when}.",
		"verdict.cannot":         "Keine Aussage möglich.",

		"q.since":      "Seit wann",
		"q.far":        "Wie weit",
		"q.seen":       "Schon gesehen?",
		"q.instrument": "Liegt es am Gerät?",
		"q.missing":    "Was fehlte",
		"q.now":        "Was nun",
		"q.why":        "Warum",

		"why.nothing":       "Es kamen keine Spektren.",
		"why.named":         "Alle Spektren sind aus benannten Zuständen: es gab keine Produktion zu beurteilen.",
		"why.unfit":         "Kein Spektrum war zu beurteilen.",
		"why.instrument":    "Das Gerät ist nicht in Ordnung.",
		"why.overtaken":     "Die Spektren kamen zu spät, als neuere schon beurteilt waren: jedes wurde für sich eingeordnet, aber nicht über die Zeit verfolgt.",
		"why.short":         "Es gab zu wenige Spektren aus der Produktion, um es zu sagen.",
		"missing.late.one":  "1 Spektrum kam zu spät, als neuere schon beurteilt waren.",
		"missing.late.many": "{n} Spektren kamen zu spät, als neuere schon beurteilt waren.",

		"since.changed":      "Gesehen um {seen}. Begonnen hat es um etwa {began}.",
		"since.ended":        "Es endete um {when}.",
		"since.earlier.one":  "Davor gab es in dieser Schicht 1 Episode.",
		"since.earlier.many": "Davor gab es in dieser Schicht {n} Episoden.",
		"since.was":          "Der Prozess war {span} verändert.",
		"since.all":          "Die ganzen {time} der Produktion.",
		"since.cannot":       "Seit {when}.",

		"far.nothing":  "Es gab nichts, woran es zu messen wäre.",
		"far.inside":   "Weit innerhalb der Grenze: {last} davon {over}.",
		"far.near":     "Nahe an der Grenze: {last} davon {over}.",
		"far.outside":  "Das {last}-Fache der Grenze {over}.",
		"far.together": "Nicht weit, aber anhaltend: einzeln liegen die Spektren innerhalb der Grenze ({last} davon {over}); zusammen haben sie sich bewegt.",
		"far.cannot":   "So weit es sich beurteilen ließ: {last} der Grenze am Ende.",
		"far.typical":  "Typisch ist {typical}.",
		"far.hour":     "in der letzten Stunde der Produktion",
		"far.since":    "seit {when}",
		"far.peak":     "Am weitesten um {when}: das {peak}-Fache der Grenze.",
		"far.share":    "{share} von {n} Spektren lagen innerhalb der Grenzen.",

		"seen.at":       "Ja: am selben Ort wie {where}, {when}.",
		"seen.like":     "Ja: am selben Ort wie {where}.",
		"seen.never":    "Nie: {name} ist neu.",
		"seen.at.of":    "{of}: ja, am selben Ort wie {where}, {when}.",
		"seen.like.of":  "{of}: ja, am selben Ort wie {where}.",
		"seen.never.of": "{of}: nie, {name} ist neu.",
		"seen.unplaced": "Nicht bekannt: die veränderten Spektren liegen nicht beisammen.",
		"seen.nothing":  "Es wurde nichts Neues gesehen.",

		"instrument.perhaps":   "Vielleicht: zuerst das Gerät prüfen.",
		"instrument.fit":       "Nichts deutet darauf hin: das Gerät ist in Ordnung.",
		"instrument.ageing":    "Ihm ist zu trauen, aber es altert.",
		"instrument.unfit":     "Das Gerät ist nicht in Ordnung: dem, was es zeigt, ist nicht zu trauen.",
		"instrument.unchecked": "Nicht bekannt: das Gerät wurde nicht geprüft.",

		"missing.nothing":         "Nichts: alle {n} Spektren wurden beurteilt.",
		"missing.all":             "Alles: es kamen keine Spektren.",
		"missing.gaps":            "Keine Spektren für {time}: {spans}.",
		"missing.unreadable.one":  "1 von {received} Spektren war nicht lesbar.",
		"missing.unreadable.many": "{n} von {received} Spektren waren nicht lesbar.",
		"missing.unfit.one":       "1 Spektrum war nicht zu beurteilen.",
		"missing.unfit.many":      "{n} Spektren waren nicht zu beurteilen.",

		"now.usual":      "Nichts, nach dem, was die Spektren zeigen.",
		"now.again":      "Der nächsten Schicht sagen, was war und wodurch es endete.",
		"now.ageing":     "Nichts an der Linie. Die Wartung des Geräts planen.",
		"now.unfit":      "Das Gerät prüfen, ehe man dem hier glaubt: Fenster, Lampe, Wellenlängenstandard. Bis dahin nach den Prüfungen gehen, die es ohne dieses Werkzeug gibt.",
		"now.changed":    "Der nächsten Schicht sagen. Suchen, was an der Linie vor {when} anders wurde.",
		"now.instrument": "Vor der Linie das Gerät prüfen: Fenster, Lampe, Wellenlängenstandard.",
		"now.line":       "Dem Plan der Lebensmittelsicherheit folgen; nichts allein nach dieser Seite freigeben oder sperren.",
		"now.cannot":     "Beheben, was unter „Warum“ genannt ist. Bis dahin nach den Prüfungen gehen, die es ohne dieses Werkzeug gibt.",
		"now.nospectra":  "Nachsehen, warum keine Spektren kamen: Spektrometer, Ordner, Netz. Bis dahin nach den Prüfungen gehen, die es ohne dieses Werkzeug gibt.",

		"distance.caption": "Jedes Spektrum; wo es viele sind, ihr Median (kräftig) und kleinster bis größter Wert (blass). Grau: in einem benannten Zustand, in dem Abstand kein Fehler ist.",
		"scores.caption":   "Wo die Spektren liegen. Grau: gewohnt, in Teilen, die 40, 70, 90 und 99 % davon enthalten. Scheiben liegen innerhalb der Grenzen, Ringe außerhalb, Kreuze in einem benannten Zustand; neuere sind kräftiger.",
		"spectrum.caption": "Mittleres Spektrum gegen das gewohnte, und der Unterschied; schattiert, wo er das Band verließ.",
		"bonds.caption":    "Balken: wo Bindungen etwa absorbieren (Osborne, Fearn, Hindle 1993; Workman, Weyer 2012): ein Hinweis, kein Befund.",
		"map.caption":      "Alle Zustände, so auseinandergezogen, dass man sie unterscheiden kann.",

		"fault.axis":       "eine verschobene Wellenlängenachse",
		"fault.light":      "ein Belag auf dem Fenster, eine schwächere Lampe oder eine geknickte Faser",
		"fault.path":       "eine andere Weglänge in der Sonde",
		"difference.after": "Unterschied, {steps}",

		"this.shift":    "diese Schicht",
		"while.changed": "während der Veränderung",
		"episode.name":  "verändert",
		"episode.short": "seit {when}",
		"episode.since": "verändert, seit etwa {when}",

		"alt.distance":       "Abstand vom Gewohnten über die Zeit, {from} bis {to}.",
		"alt.episode":        "Verändert {span}.",
		"alt.scores":         "Score-Plot: {inside} Spektren innerhalb der Grenzen, {outside} außerhalb.",
		"alt.clusters":       "Gezeigte Zustände: {names}.",
		"alt.spectrum.none":  "Das gewohnte mittlere Spektrum; aus der Produktion gibt es keines, das sich danebenhalten ließe.",
		"alt.spectrum.same":  "Mittleres und gewohntes Spektrum: der Unterschied bleibt im gewohnten Band.",
		"alt.spectrum.moved": "Mittleres und gewohntes Spektrum: der Unterschied verlässt das gewohnte Band am weitesten bei {at}.",
		"alt.map":            "Karte aller Zustände mit den Spektren dieser Zeit.",

		"sign.from": "Übergeben von",
		"sign.to":   "Übernommen von",
		"sign.time": "Datum und Uhrzeit",
	}
}

func germanDetails() map[string]string {
	return map[string]string{
		"episodes.title":     "Episoden",
		"episodes.none":      "Es wurde keine gesehen.",
		"acts.title":         "Was aus dem Alarm wurde",
		"act.raised":         "ausgelöst",
		"act.gone":           "die Veränderung war vorüber",
		"act.acknowledged":   "zur Kenntnis genommen",
		"act.shelved":        "zurückgestellt bis {until}",
		"act.unshelved":      "wieder hervorgeholt",
		"act.over":           "die Zeit der Zurückstellung war um",
		"act.refused":        "abgelehnt: {why}",
		"conditions.over":    "davon {time} länger, als er dauern darf",
		"conditions.title":   "Zustände",
		"conditions.caption": "Zeit in jedem Zustand",
		"conditions.none":    "Es wurden keine Spektren einem Zustand zugeordnet.",
		"groups.caption":     "Das mittlere Spektrum jeder unbekannten Gruppe gegen das gewohnte, vorbehandelt; das graue Band ist gewohnt. Es sagt, wo ein Ort liegt, nicht, was er ist.",
		"alt.groups":         "Mittlere Spektren der unbekannten Gruppen gegen das gewohnte.",
		"alt.group":          "{group} verlässt das gewohnte Band am meisten bei {at}.",
		"groups.title":       "Unbekannte Gruppen: Spektren, die beisammen liegen und in keinem bekannten Zustand zu Hause sind",
		"groups.none":        "Es gab keine unbekannten Gruppen.",

		"instrument.title":        "Das Gerät",
		"instrument.state.fit":    "Das Gerät ist in Ordnung.",
		"instrument.state.ageing": "Das Gerät altert.",
		"instrument.state.unfit":  "Das Gerät ist nicht in Ordnung.",
		"checks.title":            "Prüfungen des Geräts",
		"check.fit":               "in Ordnung",
		"check.unfit":             "über der Grenze",

		"complete.title":   "Was kam und was fehlte",
		"complete.line":    "{received} Spektren erhalten, {judged} beurteilt, {unfit} nicht zu beurteilen, {unreadable} nicht lesbar.",
		"gaps.title":       "Zeiten ohne Spektren",
		"unreadable.title": "Nicht lesbar",
		"seen.short.never": "nie",

		"col.after":        "gesehen nach",
		"col.alarm":        "Alarm",
		"col.at":           "um",
		"col.before":       "schon gesehen",
		"col.caught":       "gute Spektren, die sie verändert nennt",
		"col.change":       "Veränderung",
		"col.check":        "Prüfung",
		"col.condition":    "Zustand",
		"col.day":          "Datum",
		"col.distance":     "Abstand",
		"col.file":         "Datei",
		"col.first":        "zuerst",
		"col.furthest":     "am weitesten",
		"col.gap":          "keine Spektren",
		"col.group":        "Gruppe",
		"col.how":          "wie",
		"col.inside":       "innerhalb",
		"col.last":         "zuletzt",
		"col.lasted":       "Dauer",
		"col.limit":        "Grenze",
		"col.median":       "mittlerer Abstand",
		"col.most":         "weicht am meisten ab bei",
		"col.note":         "Bemerkung",
		"col.now":          "jetzt",
		"col.period":       "Zeit",
		"col.pretreatment": "Vorbehandlung",
		"col.reach":        "Reichweite",
		"col.reason":       "Grund",
		"col.result":       "Ergebnis",
		"col.run":          "Lauf",
		"col.runs":         "Läufe",
		"col.seen":         "gesehen um",
		"col.since":        "begonnen",
		"col.smallest":     "kleinste gesehene",
		"col.spectra":      "Spektren",
		"col.time":         "Zeit",
		"col.times":        "Male",
		"col.until":        "beendet",
		"col.value":        "Wert",
		"col.what":         "was",
		"col.who":          "von",
		"col.why":          "warum",

		"index.title":      "Berichte",
		"index.state":      "{verdict} am Ende der Schicht {shift}, {day}.",
		"index.unread":     "{file} war nicht zu lesen: sein Bericht steht nicht in diesem Verzeichnis. Er lässt sich neu schreiben: asusual handover, mit Datum und Schicht.",
		"index.empty":      "noch keine Berichte.",
		"index.day":        "{weekday} {day}.",
		"index.count.one":  "1 Schicht, {changed} verändert, {cannot} ohne Aussage",
		"index.count.many": "{n} Schichten, {changed} verändert, {cannot} ohne Aussage",
		"index.usual":      "wie gewohnt",
		"index.again.one":  "wieder wie gewohnt, nach 1 Episode",
		"index.again.many": "wieder wie gewohnt, nach {n} Episoden",
		"index.changed":    "verändert",
		"index.cannot":     "keine Aussage",
		"index.key":        "○ wie gewohnt · ▲ der Prozess hat sich verändert · – keine Aussage möglich. Die kleinen Bilder zeigen den Abstand vom Gewohnten über die Schicht; die Linie ist die Grenze.",
	}
}
