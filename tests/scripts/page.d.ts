// What the scripts of a page find there: what earlier scripts have left at the window, and elements by selectors, whose
// sort a selector does not say.
interface Window {
  [name: string]: any;
}
interface ParentNode {
  querySelector(selectors: string): any;
  querySelectorAll(selectors: string): NodeListOf<any>;
}
declare const readingsOf: (table: any, meter: number) => any;
declare const failuresOf: (data: any) => any;
declare const likelihoodsOf: (table: any) => any;
declare const proposalsOf: (table: any) => any;
declare class BenchloreReader {
  constructor(folder: string, stamp: string);
  [name: string]: any;
}
interface Window {
  BenchloreReader: typeof BenchloreReader;
}
