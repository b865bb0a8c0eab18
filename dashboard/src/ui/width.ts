/** The breakpoint `--phone` of tokens.css, for code that decides by it. A test holds the two together. */
export const PHONE = '(max-width: 760px)'

/** Whether the window is as narrow as a phone now. */
export const onPhone = () => matchMedia(PHONE).matches
