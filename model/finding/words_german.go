package finding

import "sync"

// decimal is no kind: its words are the decimal mark of a language; without them it is a point.
const decimal Kind = "decimal mark"

// German has the words of every kind in German.
var German = sync.OnceValue(func() Words {
	return Words{
		decimal: ",",

		AboveT2: "im Muster des Gewohnten, aber weiter außen als gewohnt (T² {0}, Grenze {1})",
		AboveQ:  "hat eine Form, die gewohnte Spektren nicht haben (Q-Residuum {0}, Grenze {1})",

		NotFinite:     "Kanal {0} enthält keine Zahl",
		TooLarge:      "Kanal {0} enthält {1}; so groß kann keine Absorbanz sein",
		Flat:          "alle Kanäle haben denselben Wert, {0}",
		Saturated:     "{0} Kanäle stehen auf demselben höchsten Wert, {1}, wie ein gesättigter Detektor sie schreibt",
		OffAxis:       "{about}",
		NotAbsorbance: "{about}",
		NotPretreated: "{about}",

		ApartInPattern:   "liegt {0}-mal so weit von der Mitte der bekannt guten Spektren wie diese gewöhnlich",
		ApartInShape:     "hat eine Form, die die anderen bekannt guten Spektren nicht haben (Residuum das {0}-Fache des gewohnten)",
		RunApart:         "der ganze Lauf {about} liegt abseits der anderen bekannt guten Läufe, {0}-mal so weit außen wie deren Spektren gewöhnlich",
		StartUp:          "Anfahren: der Lauf {about} kam erst {1} Minuten nach seinem Beginn zur Ruhe, darum wurden seine ersten {0} Spektren ausgelassen",
		StartUpUntimed:   "Anfahren: der Lauf {about} begann nicht so, wie er weiterging, darum wurden seine ersten {0} Spektren ausgelassen",
		TooFewToSift:     "{0} bekannt gute Spektren sind zu wenige, um zu erkennen, welche nicht dazugehören; {1} werden gebraucht",
		TooFewAlike:      "zu wenige der bekannt guten Spektren gleichen einander, {0} von {1}, um zu erkennen, welche nicht dazugehören: alle wurden behalten. Prüfen, ob alle aus guter Produktion sind",
		TooFewRunsToSift: "{0} bekannt gute Läufe sind zu wenige, um zu erkennen, ob ein ganzer Lauf nicht dazugehört; {1} werden gebraucht",
		ShortRunsToSift:  "{0} bekannt gute Läufe mit zusammen {1} Spektren sind zu kurz, um zu erkennen, ob ein ganzer Lauf nicht dazugehört; {2} Spektren je Lauf werden gebraucht. Einzelne Spektren wurden gesiebt",
		MuchSifted:       "{0} von {1} bekannt guten Spektren wurden ausgelassen; wo mehr als ein Viertel nicht dazugehört, kann der falsche Teil behalten worden sein",

		FewRuns:     "{0} bekannt gute Läufe sind wenige: statt ganzer Läufe wurden {1} Zeitabschnitte zurückgehalten, und Unterschiede zwischen Läufen sind weniger gut bekannt als mit {2} Läufen oder mehr",
		RunsGrouped: "{0} bekannt gute Läufe wurden in {1} Gruppen zurückgehalten",

		Extrapolated:        "{0} Stunden guter Produktion stehen hinter der Zusage, die von einer falschen Episode in {1} Stunden spricht: sie reicht über das Gesehene hinaus und beruht darauf, wie die Extreme der guten Läufe abfallen",
		WidenedFew:          "{0} gute Läufe sagen wenig darüber, wie sehr Läufe sich unterscheiden, darum stehen die Grenzen weit; mit {1} oder mehr rücken sie näher, und kleinere Veränderungen werden gesehen",
		NoTimes:             "die guten Spektren tragen keine Zeiten: die Zusage zählt ein Spektrum als {0} Sekunden, und nichts sagt, wo ein Lauf endet",
		FewNotTold:          "{0} gute Läufe sind zu wenige, um die Pausen zwischen Läufen von denen in ihnen zu unterscheiden: in der Überwachung beginnt ein neuer Lauf nach einer Pause von {1} Minuten, und Läufe, die früher aufeinander folgen, zählen als einer",
		FewNotTold + single: "ein guter Lauf sagt nicht, wie Pausen zwischen Läufen sich von denen in ihnen unterscheiden: in der Überwachung beginnt ein neuer Lauf nach einer Pause von {1} Minuten, und Läufe, die früher aufeinander folgen, zählen als einer",
		RunsNotTold:         "die Pausen zwischen guten Läufen sind nicht länger als die in ihnen: in der Überwachung beginnt ein neuer Lauf nach einer Pause von {0} Minuten, und Läufe, die früher aufeinander folgen, zählen als einer",

		NotUsed:      "{about}",
		NotUsedOther: "aus anderen Gründen, je einem eigenen; asusual inspect nennt sie",

		KeptAll: "alle Spektren galten als gut, wie verlangt: von keinem wurde geprüft, ob es dazugehört",
		NoReach: "wie kleine Veränderungen diese Referenz sehen kann, ist nicht bekannt: {about}",
		Default: "keine Vorbehandlung konnte danach gewählt werden, was sie sehen lässt; darum wurde SNV genommen, was meist richtig ist: {about}",
		Overlap: "{about} liegen übereinander: {0} % der ersten liegen in der zweiten",

		MovesAs: "bewegt sich, wie {about} es bewirken würde ({0} % der Abweichung): zuerst das Gerät prüfen",

		Repeating:           "die letzten {0} Spektren sind in jedem Kanal gleich: das Gerät, oder was seine Dateien schreibt, gibt immer wieder dasselbe aus",
		FarNoisier:          "die Spektren rauschen weit stärker als beim Lernen der Referenz: mindestens {0}-fach in der Mitte der Achse, mindestens {1}-fach an ihren Rändern",
		Noisier:             "die Spektren rauschen stärker als beim Lernen der Referenz: {0}-fach in der Mitte der Achse, {1}-fach an ihren Rändern",
		LikeAxis:            "bewegt sich wie bei einer um {0} {about} verschobenen Achse: das Gerät vor dem Prozess prüfen",
		LikeLight:           "bewegt sich wie bei einem Belag auf dem Fenster oder anderem Licht, im Ganzen um {0} Absorbanz: Sonde und Lampe vor dem Prozess prüfen",
		LikeStretch:         "bewegt sich wie bei einer von Ende zu Ende um {1} {about} gestreckten Achse: das Gerät vor dem Prozess prüfen",
		LikeShiftAndStretch: "bewegt sich wie bei einer in der Mitte um {0} {about} verschobenen und von Ende zu Ende um {1} {about} gestreckten Achse: das Gerät vor dem Prozess prüfen",
		LikeSlope:           "bewegt sich wie bei einem Belag auf dem Fenster oder anderem Licht, von Ende zu Ende um {1} Absorbanz: Sonde und Lampe vor dem Prozess prüfen",
		LikeCurve:           "bewegt sich wie bei einem Belag auf dem Fenster oder anderem Licht, an beiden Enden um {3} Absorbanz gegen die Mitte: Sonde und Lampe vor dem Prozess prüfen",
		StuckHere + single:  "der Kanal bei {1} {about} gibt immer wieder denselben Wert, während die anderen sich bewegen: den Detektor ansehen oder ihn auslassen",
		OutHere + single:    "der Kanal bei {1} {about} steht allein aus denen neben ihm heraus, in {2} % der jüngsten Spektren: den Detektor ansehen oder ihn auslassen",
		StuckHere:           "{0} Kanäle geben immer wieder denselben Wert, während die anderen sich bewegen, der erste liegt bei {1} {about}: den Detektor ansehen oder ihn auslassen",
		OutHere:             "{0} Kanäle stehen allein aus denen neben ihnen heraus, der erste, bei {1} {about}, in {2} % der jüngsten Spektren: den Detektor ansehen oder ihn auslassen",
		LikePath:            "bewegt sich wie bei einem längeren Weg, um {0} %: auf die Sonde ebenso sehen wie auf den Prozess",
		MostUnfit:           "mehr als die Hälfte der jüngsten Spektren konnte nicht beurteilt werden",

		Masked + single: "1 von {2} Kanälen, bei {3} {about}, wurde ausgeblendet und von seinen Nachbarn genommen; {1} davon gesättigt, die anderen ohne Licht",
		Masked:          "{0} von {2} Kanälen wurden ausgeblendet und von ihren Nachbarn genommen, {1} davon gesättigt, die anderen ohne Licht; der erste liegt bei {3} {about}",
		StaleReference:  "das zeitlich nächste Referenzspektrum liegt {0} h entfernt, mehr als {1} h: ein neues messen",
		StaleDark:       "das zeitlich nächste Dunkelspektrum liegt {0} h entfernt, mehr als {1} h: ein neues messen",
		DarkBetween:     "es gibt kein Dunkelspektrum von {0} ms; es wurde aus denen von {1} und {2} ms genommen, da das Dunkelsignal linear mit der Integrationszeit wächst",
		ExposureNotTold: "{about} nennt seine Integrationszeit nicht; sie wurde für dieselbe wie bei den anderen genommen",

		DarkLevel:              "der Dunkelpegel hat sich seit den ersten Dunkelspektren um {0} % bewegt, Grenze {1} %: Kühlung des Detektors und Streulicht ansehen",
		DarkNoise:              "Dunkelspektren rauschen {0}-mal so stark wie die ersten, Grenze {1}: Kühlung des Detektors ansehen",
		LightLevel:             "die Referenz steht auf {0} % ihres ersten Pegels über {about}, Grenze {1} % Abweichung: Lampe, Fenster und Faser ansehen",
		LineNoise:              "die 100-%-Linie rauscht über {about}: {0} Absorbanz, Grenze {1}",
		LineNoisier:            "die 100-%-Linie rauscht {0}-mal so stark wie zuerst, Grenze {1}: Lampe und Faser ansehen",
		SaturatedNow:           "{0} Kanäle der Referenz sind gesättigt, der erste ist Kanal {1}: die Integrationszeit verkürzen",
		SaturatedNow + single:  "Kanal {1} der Referenz ist gesättigt: die Integrationszeit verkürzen",
		DeadChannels + single:  "Kanal {1} ist tot: er gibt kein Licht, wo seine Nachbarn es tun",
		HotChannels + single:   "Kanal {1} ist heiß: er steht im Dunkeln weit über seinen Nachbarn",
		StuckChannels + single: "Kanal {1} hängt: er gibt immer wieder denselben Wert",
		DeadChannels:           "{0} Kanäle sind tot, der erste ist Kanal {1}: sie geben kein Licht, wo ihre Nachbarn es tun",
		HotChannels:            "{0} Kanäle sind heiß, der erste ist Kanal {1}: sie stehen im Dunkeln weit über ihren Nachbarn",
		StuckChannels:          "{0} Kanäle hängen, der erste ist Kanal {1}: sie geben immer wieder denselben Wert",
		Unrepeatable:           "{2} Wiederholungen weichen um {0} Absorbanz von ihrem Mittel ab, Grenze {1}",
		BandMoved:              "die bei {0} angegebene Bande liegt {1} {about} daneben, Toleranz {2}",
		BandNotFound:           "die bei {0} angegebene Bande konnte nicht gefunden werden: {about}",
		CannotCheck:            "{about}",

		LeansBeyond:     "{0} % dessen, worauf diese Referenz sieht, liegen jenseits von {about}, wo wenig als Rauschen ist: diese Kanäle auslassen",
		LeansOnEdges:    "{0} % dessen, worauf diese Referenz sieht, liegen auf den äußeren {1} % der Kanäle, wo Detektoren rauschen: die äußersten Kanäle auslassen",
		AxisBeyond:      "{0} von {1} Kanälen liegen jenseits von {about}: sie auslassen oder den Detektor nennen, der dort ist",
		NotItsAxis:      "die Achse ist nicht die des Detektors: {about}",
		FewChannels:     "{0} Kanäle sind wenige; mit {1} oder mehr sind Formen besser zu unterscheiden",
		ExposureTooLong: "eine Integrationszeit von {0} ms passt nicht in {1} ms zwischen Spektren",
		ExposureUnusual: "eine Integrationszeit von {0} ms ist ungewöhnlich; {1} bis {2} ms sind üblich",
		LeaveOutCO2:     "{0}–{1} {about} ist ausgelassen: dort absorbiert das Kohlendioxid der Luft, und das ändert sich damit, wer in der Nähe atmet",

		ShortSide:   "{0} Punkte vor der Mitte sind wenige, um die Phase zu bestimmen; {1} sind erwünscht",
		Clipped:     "{0} Punkte des Interferogramms stehen auf dessen höchstem oder tiefstem Wert: der Detektor kann überlastet sein",
		LongItem:    "das Stück {about} endete nach {0} Spektren nicht; es wurde dort geschlossen",
		FewInItem:   "das Stück {about} hat ohne seine Ränder {0} Spektren, {1} sind erwünscht",
		ItemChanged: "das Stück wurde geschlossen, weil {about} in ihm wechselte",
		MeanOfItem:  "das Mittel aus {0} Spektren des Stücks {about}; {1} an seinen Rändern sind ausgelassen",
		LateOfItem:  "kam, nachdem sein Stück {about} geschlossen war: es zählt nicht zum Mittel des Stücks und wird nicht beurteilt",
		OfItems:     "jedes Spektrum, aus dem gelernt wurde, ist das Mittel eines Stücks: {0} Stücke aus {1} Spektren; {2} des leeren Förderbands sind ausgelassen",

		Overstays:    "liegt, wo {about} liegt, aber bleibt: bisher {0} Minuten, und {about} dauert höchstens {1} Minuten",
		TooSlow:      "Spektren kommen mit Pausen von {0} s, und eine Pause von mehr als {1} s beendet einen Lauf, sodass kein Lauf lang genug ist, um etwas zu sagen: die Referenz wurde aus Spektren im Abstand von {2} s gelernt. Sie aus Spektren in diesem Takt neu lernen",
		Untimely:     "{about} außerhalb der erwarteten Zeiten",
		InTransition: "auf dem Weg aus {about}",

		TakenOut:                 "was vor {about} kam, ist aus der Historie genommen, wie es die Einstellungen sagen: diesem Bericht fehlt es",
		UnfitThen:                "{about}: das Gerät war nicht in Ordnung, als {0} Spektren genommen wurden; sie zählen nicht mit, und was sich unterscheidet, kann an ihm liegen",
		OtherPlane:               "{0} Spektren wurden nach einer anderen Referenz beurteilt, Fingerabdruck {about}: Score-Plot und Karte lassen sie aus, und das Gewohnte der anderen Bilder ist das der jetzigen",
		RunsNotCompared:          "wie sehr sich gewohnte Läufe unterscheiden, ist nicht bekannt: die Referenz wurde aus {0} guten Läufen gelernt, ohne sie aneinander zu messen; sie aus {1} oder mehr neu lernen",
		RunsNotCompared + single: "wie sehr sich gewohnte Läufe unterscheiden, ist nicht bekannt: die Referenz wurde aus einem guten Lauf gelernt; sie aus {1} oder mehr neu lernen",
		OtherReference:           "{about}: {0} Spektren wurden nach einer anderen Referenz beurteilt und sind ausgelassen",
	}
})
