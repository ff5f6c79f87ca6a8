package requests

// AsNamed is asNamed.
func AsNamed(text string) []string { return asNamed(text) }

// Begins is begins.
func Begins(typed, name string) bool { return begins(typed, name) }
