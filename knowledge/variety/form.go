package variety

// Form is the flower form, in the words of the NCS (UK) classification.
type Form string

// Section is a section of the NCS (UK) classification with its letter, as in 25b.
type Section struct {
	Number int
	Letter string
}
