package vehicle

// Sound is a vehicle that has only what is required.
const Sound = sound
