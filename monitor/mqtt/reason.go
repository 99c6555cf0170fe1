package mqtt

import "fmt"

// A Reason is a reason code, §2.4.
type Reason byte

// Fault reports whether the reason says that something was not done.
func (r Reason) Fault() bool { return r >= 0x80 }

func (r Reason) String() string {
	if s, ok := reasons(r); ok {
		return s
	}
	return fmt.Sprintf("reason 0x%02x", byte(r))
}

func reasons(r Reason) (string, bool) {
	switch r {
	case 0x00:
		return "success", true
	case 0x10:
		return "no matching subscribers", true
	case 0x80:
		return "unspecified error", true
	case 0x81:
		return "malformed packet", true
	case 0x82:
		return "protocol error", true
	case 0x83:
		return "implementation specific error", true
	case 0x84:
		return "unsupported protocol version", true
	case 0x85:
		return "client identifier not valid", true
	case 0x86:
		return "bad user name or password", true
	case 0x87:
		return "not authorized", true
	case 0x88:
		return "server unavailable", true
	case 0x89:
		return "server busy", true
	case 0x8a:
		return "banned", true
	case 0x8b:
		return "server shutting down", true
	case 0x8d:
		return "keep alive timeout", true
	case 0x8e:
		return "session taken over", true
	case 0x90:
		return "topic name invalid", true
	case 0x93:
		return "receive maximum exceeded", true
	case 0x95:
		return "packet too large", true
	case 0x96:
		return "message rate too high", true
	case 0x97:
		return "quota exceeded", true
	case 0x98:
		return "administrative action", true
	case 0x99:
		return "payload format invalid", true
	case 0x9a:
		return "retain not supported", true
	case 0x9b:
		return "QoS not supported", true
	case 0x9c:
		return "use another server", true
	case 0x9d:
		return "server moved", true
	case 0x9f:
		return "connection rate exceeded", true
	}
	return "", false
}

// A Refusal is a reason code by which the broker said no.
type Refusal struct {
	Of     string // what it refused
	Reason Reason
	Said   string // in its own words, or ""
}

func (r *Refusal) Error() string {
	if r.Said != "" {
		return fmt.Sprintf("the broker refused %s: %s (%q)", r.Of, r.Reason, r.Said)
	}
	return fmt.Sprintf("the broker refused %s: %s", r.Of, r.Reason)
}
