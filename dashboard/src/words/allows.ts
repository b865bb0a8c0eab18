/**
 * Whether a record allows an act as it is: the server works that out with the record. Whether the member may send it is the
 * session's to say.
 */
export const allows = <A extends string>(
  record: { allows?: readonly A[] | undefined } | undefined,
  act: A,
): boolean => record?.allows?.includes(act) ?? false
