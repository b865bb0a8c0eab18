// What each figure says, in one plain sentence, and where it misleads.
export const RESERVE_FIGURES: [string, string][] = [
  [
    'Family',
    'Pieces that can take each other’s slots: the same kind and the same hook-up. Each family is its own stock. Families are never pooled: a spare of another coupling or fluid helps nobody.',
  ],
  ['Fleet', 'Pieces with their home on a rig: each of them can fail and leave a slot open.'],
  [
    'Spares',
    'Pieces of the family that are in service and have their home on a shelf or in a shop, not on a rig. On hand are those that could go aboard now: not standing in, not on their way, and with nothing that forbids their use.',
  ],
  [
    'Failures a year',
    'How many failures the whole fleet has in a year, with the bounds that the record allows (90 % confidence). With few failures read the bounds, not the figure. Planned service is no failure.',
  ],
  [
    'Days away',
    'How long a failed piece is gone on average, waits for parts included. Repairs that still last count with the days that they have lasted. Long waits drive the number of spares more than failures do: halving them saves as much as halving the failures, and is often easier.',
  ],
  ['Away on average', 'Failures a year times days away, over 365: so many pieces are gone at any one time.'],
  [
    'Failures that find a spare (fill rate)',
    'Of all failures, the share for which a spare lies on the shelf at that moment.',
  ],
  [
    'Time with no slot waiting (ready rate)',
    'The share of the time in which no rig waits for a spare of this family. It is a share of time, not of failures, and always the higher of the two.',
  ],
  [
    'Spares needed',
    'The least number of spares that reaches the target, by the mean rate and the mean days away. “Enough” is said only where the spares reach it at the upper bounds of both, too; “by the mean only” where they do not, or the record is too short to say. Beside it stands what happened: slots that wait now, or how often and how long they have waited. It takes failures as independent and the rate as constant: a bad batch or one flood breaks both.',
  ],
]

export const RELIABILITY_FIGURES: [string, string][] = [
  [
    'Failures',
    'How often a piece had to be taken out of service. Planned service is no failure: it takes a piece away, but it counts nowhere here.',
  ],
  [
    'Piece-years',
    'Time on which pieces could be used: ten pieces over one year are ten piece-years, less the days out.',
  ],
  [
    'Failures per piece-year',
    'How often one piece fails in a year, between bounds. Two failures without their bounds say next to nothing: compare rows only where the bounds lie apart.',
  ],
  [
    'Days between failures',
    'The same the other way round: days in use from one failure of a piece to the next.',
  ],
  [
    'Days away for repair',
    'From out of service to back in service, waits for parts included; only repairs that have ended.',
  ],
  [
    'Availability',
    'The share of the time that a piece is not away for repair. Planned service is not in it: the time away for that comes on top.',
  ],
  [
    'Trend',
    'Whether failures come more often as time goes on. “No clear trend” means that what is there could be chance; it does not say that nothing changes. More use is not more failures: this counts days, not running hours.',
  ],
  [
    'Power law',
    'A curve through the failures of each piece over its time: shape 1 is constant, above 1 wears out, below 1 settles. Only fitted where there are enough failures.',
  ],
]
