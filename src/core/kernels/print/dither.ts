/**
 * Dither from the position alone. The phase is the additive sequence on the plastic number ρ (ρ³ = ρ + 1; steps 1/ρ
 * and 1/ρ² of a turn per column and row), as 32-bit integers: neighbours get well separated values in every small
 * window, so that any few pixels together keep the mean and the pattern has little at low frequencies. The three
 * channels stand a third of a turn apart, which keeps their sum, and so the luminance, quiet.
 *
 * code = floor(255 e + phase): uniform over one code, the least noise that leaves the mean independent of the signal
 * (Roberts 1962, "Picture coding using pseudo-random noise").
 */
export const COLUMN_STEP = 3242174889
export const ROW_STEP = 2447445414
export const CHANNEL_STEP = 1431655765

/** A number in [0, 1) on a grid of 2^-24, exact in a 32-bit float. */
export const ditherPhase = (x: number, y: number, channel: number): number =>
  ((Math.imul(x, COLUMN_STEP) + Math.imul(y, ROW_STEP) + Math.imul(channel, CHANNEL_STEP)) >>> 8) / 16777216
