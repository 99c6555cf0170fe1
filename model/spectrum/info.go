package spectrum

// An Info says what a file turned out to be, and how that is known.
type Info struct {
	Format       Format   `json:"format"`
	Delimiter    string   `json:"delimiter,omitempty"`    // comma, semicolon, tab or space; "" for JCAMP-DX
	Decimal      string   `json:"decimal,omitempty"`      // the decimal mark, where one was seen
	Axis         string   `json:"axis,omitempty"`         // the axis of the last spectrum, in words
	Unit         Unit     `json:"unit"`                   // of the axis
	UnitFrom     Known    `json:"unit_from"`              // how the unit is known
	Quantity     Quantity `json:"quantity"`               // of the values
	QuantityFrom Known    `json:"quantity_from"`          // how the quantity is known
	Percent      bool     `json:"percent,omitempty"`      // values stood in percent and were divided by 100
	TimeFrom     TimeFrom `json:"time_from"`              // where the time of the last spectrum came from
	TimeColumn   string   `json:"time_column,omitempty"`  // of a table
	RunColumn    string   `json:"run_column,omitempty"`   // of a table
	LabelColumn  string   `json:"label_column,omitempty"` // of a table
	Ignored      []string `json:"ignored,omitempty"`      // columns that nothing is read from
}

// Known says how something about a file is known.
type Known uint8

// How something is known.
const (
	NotKnown Known = iota
	Said           // the file says it
	Set            // the options say it
	Guessed        // it follows from the numbers, by our own rule
)

var knownWords = [...]string{NotKnown: "not known", Said: "said", Set: "set", Guessed: "guessed"}

// String returns the word: not known, said, set or guessed.
func (k Known) String() string { return knownWords[k] }

// MarshalText writes the word.
func (k Known) MarshalText() ([]byte, error) { return []byte(k.String()), nil }
