package spectrum

import "errors"

func (rd *Reader) jcamp() error { return errors.New("TODO") }
