package requests

import (
	"fmt"

	"shortday/knowledge/register"
)

// apartWords says how long new stock stands apart, "" where that is over.
func apartWords(h register.Hold) string {
	if h.Why != register.HeldApart {
		return ""
	}
	return fmt.Sprintf("New stock stands apart until %s: look at it weekly, and pass none of it on before.", h.Last.Long())
}
