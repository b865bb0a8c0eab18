export * from "./commands";
export * from "./feed";
export * from "./http";
export * from "./live";
export * from "./photos";
export * from "./sign";
export * from "./types";
export * from "./uuid";
